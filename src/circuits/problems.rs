//! Every kind of problem that reading lists can find: its stable name, how much it matters, and what it means.

use crate::base::Problem;
use crate::base::problem::problem_kinds;

problem_kinds! {
    UNREADABLE_FILE Error "unreadable-file" "the file is empty, encrypted, damaged, or of a kind that is not read";
    FILE_TOO_BIG Error "file-too-big" "the file is larger than 64 MiB, or unpacks to more than 256 MiB";
    TOO_MANY_ROWS Error "too-many-rows" "the list has more than 1,000,000 rows";
    TOO_MANY_COLUMNS Error "too-many-columns" "a row has more than 1,000 cells";
    CELL_TOO_LONG Error "cell-too-long" "a cell holds more than 10,000 characters, often for want of a closing quote";
    UNCLOSED_QUOTE Error "unclosed-quote" "a quote is opened and never closed, so the rest of the file is one cell";
    SHEET_NOT_FOUND Error "sheet-not-found" "a workbook has no sheet of the name that job.toml gives";
    SHEET_NOT_READ Warning "sheet-not-read" "a sheet of a workbook is hidden or has no header row, and is not read";
    FORMULA_ERROR Error "formula-error" "a formula of a workbook ends in an error, such as `#REF!`";
    FORMULA_WITHOUT_VALUE Error "formula-without-value" "a workbook does not hold the value of one of its formulas";
    CHANGED_BY_SPREADSHEET Error "changed-by-spreadsheet" "a spreadsheet program made a date, another number or an error of what was typed";
    MISSING_COLUMN Error "missing-column" "a column that the list needs is not there, or not under the name the job gives it";
    UNKNOWN_COLUMN Error "unknown-column" "the job names a column that lists do not have";
    UNUSED_COLUMN Warning "unused-column" "a column of the list is not read";
    NO_ROWS Warning "no-rows" "the list has a header and no rows below it";
    ROW_TOO_SHORT Warning "row-too-short" "a row has fewer cells than the header; the missing ones count as blank";
    ROW_TOO_LONG Error "row-too-long" "a row has more cells than the header, often for want of quotes round a comma";
    DUPLICATE_ROW Warning "duplicate-row" "a row repeats another one; it counts as a second wire";
    EMPTY_CAVITY Warning "empty-cavity" "rows that name a cavity and nothing else count as empty cavities";
    MISSING_PLACE Error "missing-place" "a row does not say which connector, or which cavity of it";
    BLANK_CAVITY Warning "blank-cavity" "no row names a cavity of this connector, so it counts as a stud or splice";
    INCOMPLETE_FAR_END Error "incomplete-far-end" "a wire's other end has a connector without cavity or a cavity without connector";
    WIRE_TO_ITSELF Error "wire-to-itself" "a wire begins and ends in the same cavity";
    SEVERAL_CAVITIES Warning "several-cavities" "a cell seems to name several cavities; it counts as one";
    BAD_DESIGNATION Error "bad-designation" "a designation holds a line break or another control character";
    BAD_LENGTH Error "bad-length" "a length cannot be read";
    BAD_DIAMETER Error "bad-diameter" "a diameter cannot be read";
    BAD_SIZE Error "bad-size" "a conductor size cannot be read, or may be mm² as well as AWG";
    BAD_COUNT Error "bad-count" "a number of rows, columns or cavities of a connector cannot be read";
    UNKNOWN_ACTION Error "unknown-action" "the action column holds a word that is no action";
    UNKNOWN_TAG Error "unknown-tag" "the tag column holds a word that is no kind of tag";
    TWO_TAGS_OF_ONE_PURPOSE Error "two-tags-of-one-purpose" "the tag column names two work tags or two final tags for one end";
    UNKNOWN_SUPPLY Error "unknown-supply" "the supply column holds a word that is no supply";
    UNKNOWN_COLOUR Warning "unknown-colour" "a colour is not one of IEC 60757; it is printed as typed";
    COLOURS_BLURRED Warning "colours-blurred" "own words make one colour of two that a list tells apart";
    UNKNOWN_INSULATION Warning "unknown-insulation" "an insulation is none whose wall is known; the diameter stays unknown";
    UNKNOWN_CONNECTOR_KIND Error "unknown-connector-kind" "connectors.csv gives a connector a kind there is not";
    UNKNOWN_CASE Error "unknown-case" "connectors.csv says something else of case than that it matters or not";
    UNKNOWN_NUMBERING Error "unknown-numbering" "connectors.csv says of a face what is not understood: its numbering, latch, view or stagger";
    DUPLICATE_CONNECTOR Error "duplicate-connector" "connectors.csv describes a connector twice";
    UNKNOWN_MATE Warning "unknown-mate" "connectors.csv names an other half that stands in no list; it counts as gone";
    MATES_DISAGREE Error "mates-disagree" "connectors.csv gives the two halves of an inline pair different mates";
    HALVES_PART Warning "halves-part" "a wire moves to another cavity of one half, and its other half does not";
    HALVES_DISAGREE Warning "halves-disagree" "two halves mate, and as connectors.csv tells their faces, cavities would not meet";
    DIFFER_BY_CASE Warning "differ-by-case" "names of cavities of one connector differ in case only, and count as two";
    DIFFER_BY_ZEROS Warning "differ-by-zeros" "names of cavities of one connector differ in leading zeros only, and count as two";
    CHARTS_DISAGREE Warning "charts-disagree" "two lists say different things of one end or circuit";
    WIRE_ENDS_DIFFER Warning "wire-ends-differ" "the two ends of one wire differ in colour or conductor size";
    TWO_CIRCUITS_IN_ONE_CAVITY Warning "two-circuits-in-one-cavity" "a cavity holds ends of different circuits";
    ONE_ENDED_CIRCUIT Warning "one-ended-circuit" "a circuit has one end only; where its wire goes is not known yet";
    CAVITY_OUTSIDE_CONNECTOR Warning "cavity-outside-connector" "a cavity has a number or letter that its connector does not reach";
    DESIGNATIONS_LOOK_ALIKE Warning "designations-look-alike" "two designations differ only in case, spaces or punctuation";
    FAR_END_REMOVED Warning "far-end-removed" "a wire is used at one end and removed at the other";
    MOVE_INTO_OCCUPIED_CAVITY Warning "move-into-occupied-cavity" "an end moves into a cavity where another circuit stays";
    TWO_MOVES_INTO_ONE_CAVITY Warning "two-moves-into-one-cavity" "ends of two circuits move into one cavity";
    BOTH_ENDS_INTO_ONE_CAVITY Warning "both-ends-into-one-cavity" "both ends of a wire come into one cavity";
    MOVE_TO_UNKNOWN_CONNECTOR Warning "move-to-unknown-connector" "an end moves to a connector that stands in no list";
    ADDED_CIRCUIT_INCOMPLETE Warning "added-circuit-incomplete" "an added wire has no supply or no conductor size";
    CONNECTOR_IN_NO_LIST Warning "connector-in-no-list" "connectors.csv describes connectors in which no list has a wire";
    CONNECTOR_LEFT_EMPTY Warning "connector-left-empty" "no wire stays in a connector";
    PAIR_BROKEN Warning "pair-broken" "one of a twisted pair or screen is removed, and the other is not";
    UNKNOWN_PARTNER Warning "unknown-partner" "the column `with` names a partner that stands in no list";
    LIVE_END_WITHOUT_CAP Warning "live-end-without-cap" "a constant-fed end comes free, and its note says nothing of a cap";
    WORK_ON_RESTRAINT Warning "work-on-restraint" "ends of a restraint circuit are to be cut, removed, moved, added or extended";
    WORK_ON_HIGH_VOLTAGE Warning "work-on-high-voltage" "ends of a high-voltage circuit are to be cut, removed, moved, added or extended";
    FUSE_ABOVE_RATING Warning "fuse-above-rating" "a fuse is larger than the thinnest conductor bears by the table that the job names";
    SIZE_NOT_IN_RATING_TABLE Warning "size-not-in-rating-table" "the table that the job names for fuses lacks sizes of conductors";
    GREEN_AND_YELLOW_MISUSED Warning "green-and-yellow-misused" "a wire is green-and-yellow, and nothing says that it is protective earth";
}

/// Whether a problem tells of what hurts people or burns wires.
pub fn is_danger(problem: &Problem) -> bool {
    [LIVE_END_WITHOUT_CAP, WORK_ON_RESTRAINT, WORK_ON_HIGH_VOLTAGE, FUSE_ABOVE_RATING]
        .iter()
        .any(|kind| kind.id == problem.id)
}

/// Whether a problem is looked for only where every row could be read: it waits while errors stand.
pub fn waits_for_errors(problem: &Problem) -> bool {
    [BOTH_ENDS_INTO_ONE_CAVITY, CONNECTOR_IN_NO_LIST, CONNECTOR_LEFT_EMPTY, MOVE_TO_UNKNOWN_CONNECTOR, UNKNOWN_PARTNER]
        .iter()
        .any(|kind| kind.id == problem.id)
}

/// Whether a problem is a list that has a header and no rows, which may have had some before.
pub fn has_no_rows(problem: &Problem) -> bool {
    problem.id == NO_ROWS.id
}
