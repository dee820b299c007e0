//! Every kind of problem that an export can have, from which the register is put together again.

use crate::base::problem::problem_kinds;

problem_kinds! {
    NOT_AN_EXPORT Error "not-an-export" "the folder holds no export of a register, or a file of it is no text";
    EXPORT_NEWER Error "export-newer" "a newer version of the program has written the export";
    EXPORT_INCOMPLETE Error "export-incomplete" "a file of the export is missing, or was cut off";
    EXPORT_CHANGED Error "export-changed" "a file of the export is not as it was written";
    EXPORT_COLUMNS Error "export-columns" "the first line of a file of the export does not name the columns of its table";
    EXPORT_CELL Error "export-cell" "a cell of the export holds what cannot stand there";
    EXPORT_ROW Error "export-row" "a row of the export has too few or too many cells, or contradicts another one";
}
