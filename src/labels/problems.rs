//! Every kind of problem that wording files can have.

use crate::base::problem::problem_kinds;

problem_kinds! {
    FIELD_TWICE Error "field-twice" "a wording tells a field in two lines";
}
