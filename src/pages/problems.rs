//! Every kind of problem that stock can have, beside those of any settings file.

use crate::base::Problem;
use crate::base::problem::problem_kinds;

problem_kinds! {
    STOCK_NAME Error "stock-name" "a stock's name has other characters than small letters, digits, `-` and `.`";
    FACE_AND_GEOMETRY Error "face-and-geometry" "a stock has the face of a tube and is none, or the other way round";
    SAID_TWICE Error "said-twice" "a stock file gives both of two keys that exclude each other";
    CORNER_RADIUS Error "corner-radius" "the corner radius is more than half the label";
    TUBE_DOES_NOT_SHRINK Error "tube-does-not-shrink" "a tube is not smaller recovered than expanded";
    LABELS_OF_NO_SIZE Error "labels-of-no-size" "the measures of a sheet leave its labels no extent";
    LABELS_OVERLAP Error "labels-overlap" "the pitch of labels is less than their extent";
    LABELS_OFF_PAGE Error "labels-off-page" "labels and gaps reach beyond the page";
    SHEET_SUM Error "sheet-sum" "margins, labels and gaps do not add up to the page";
    NO_CLEAR_TAIL Error "no-clear-tail" "the printed block of a wrap is as long as its label, or longer";
    HOLE_OFF_PLATE Error "hole-off-plate" "a hole reaches beyond its plate, or into another hole";
    LABELS_OUT_OF_REACH Warning "labels-out-of-reach" "the printer cannot reach some labels of a sheet, which stay empty";
    STOCK_OUT_OF_REACH Error "stock-out-of-reach" "the printer cannot reach what tags on a stock take";
    TUBE_IN_OFFICE_PRINTER Error "tube-in-office-printer" "heat-shrink tube is to go through a laser or inkjet printer";
    STOCK_NOT_FOR_PRINTER Warning "stock-not-for-printer" "the stock is not declared for printers of this kind";
    STOCK_NOT_FOR_PURPOSE Warning "stock-not-for-purpose" "the stock is not declared for work tags, or for final tags";
    PAPER_AS_FINAL_TAG Warning "paper-as-final-tag" "final tags are to be made of paper, which does not last";
    DIRECT_THERMAL_UNDER_SHRINK Warning "direct-thermal-under-shrink" "direct-thermal print is to be shrunk over, and blackens";
    TOO_COLD_TO_SHRINK Warning "too-cold-to-shrink" "the stock does not stand the heat that shrinks the tube over it";
}

/// Whether labels are passed over because the printer cannot reach them.
pub fn is_out_of_reach(problem: &Problem) -> bool {
    problem.id == LABELS_OUT_OF_REACH.id
}
