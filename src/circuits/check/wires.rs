//! The two ends of one wire, which have one colour and one size: where rows say otherwise, one is wrong or a wire is joined on.

use super::Joined;
use crate::base::Problem;
use crate::circuits::alike::differ_in_size;
use crate::circuits::problems::WIRE_ENDS_DIFFER;
use crate::circuits::{Action, End, FarEnd};

/// Tells each such wire once. An end that is extended is joined to a wire of any colour.
pub(super) fn find_differing_ends(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    for (circuit, at, end) in joined.ends() {
        let FarEnd::End(far) = circuit.far_end(at) else { continue };
        let Some(other) = circuit.ends().get(far).filter(|_| at < far && circuit.far_end(far) == FarEnd::End(at))
        else {
            continue;
        };
        if [end, other].iter().any(|end| end.action == Action::Extend) {
            continue;
        }
        let Some((what, here, there)) = differing(end, other) else { continue };
        let (one, two) = (&end.place, &other.place);
        let what = format!("the two ends of one wire differ in {what}: `{two}` is `{there}`, and `{one}` is `{here}`");
        let problem = WIRE_ENDS_DIFFER.says(what).at(other.origin.clone());
        let problem = problem.see(format!("`{one}` here"), end.origin.clone());
        problems.push(problem.remedy(
            "which one is right? look at the wire and mend the other row; or, where another wire is joined on, write `extend` there",
        ));
    }
}

/// In what they differ, and what each has. Colours that are not understood may be the same by other words.
fn differing(one: &End, other: &End) -> Option<(&'static str, String, String)> {
    if let (Some(here), Some(there)) = (&one.colour, &other.colour)
        && here.base().is_some()
        && there.base().is_some()
        && !here.same_as(there)
    {
        return Some(("colour", here.to_string(), there.to_string()));
    }
    let (here, there) = (one.conductor.as_ref()?, other.conductor.as_ref()?);
    let differ = differ_in_size(here.size(), there.size());
    differ.then(|| ("conductor size", here.to_string(), there.to_string()))
}
