//! Every kind of problem that the settings of a job can have, and the kinds of all steps together.

use crate::base::problem::problem_kinds;
use crate::base::{Problem, ProblemKind, settings};
use crate::circuits::is_danger;
use crate::{circuits, codes, labels, pages};

problem_kinds! {
    JOB_NOT_UTF8 Error "job-not-utf8" "job.toml is not UTF-8 text";
    LIST_NAMED_TWICE Error "list-named-twice" "job.toml names a list twice";
    LIST_OUTSIDE_JOB Error "list-outside-job" "job.toml names a list that does not lie in the job folder";
    LIST_NOT_FOUND Error "list-not-found" "job.toml names a list that is not there";
    UNREADABLE_LIST Error "unreadable-list" "the disk refuses to give a list";
    LINK_WITHOUT_BASE Error "link-without-base" "symbols shall be links, but there is no base address";
    BAD_LINK_BASE Error "bad-link-base" "the base address of links cannot be one";
    BAD_PRINTER_ADDRESS Error "bad-printer-address" "the address of a printer cannot be one";
    NO_WRAP_STOCK Error "no-wrap-stock" "tags shall be wraps, but no stock for them is named";
    RULE_WITHOUT_EFFECT Warning "rule-without-effect" "a rule for actions decides no end";
    RULE_FOR_ONE_PLACE Error "rule-for-one-place" "a rule moves ends to one cavity, which can hold one of them";
    RULE_NEVER_HOLDS Warning "rule-never-holds" "the conditions of a rule for kinds of tags exclude each other";
    UNKNOWN_RULE_CONNECTOR Warning "unknown-rule-connector" "a rule names a connector that stands in no list";
    LETTERS_LEAST_ABOVE_WANTED Error "letters-least-above-wanted" "a least letter height is above the wanted one";
    NO_SLEEVE_PRINTER Error "no-sleeve-printer" "final tags shall be sleeves, but there is no printer for tube";
    UNFIT_SLEEVE_PRINTER Error "unfit-sleeve-printer" "tube must not go through this kind of printer, or its print does not last";
    UNFIT_FOR_RATING_TABLE Error "unfit-for-rating-table" "the table for fuses has no such column or knows no such setting";
    LIKELY_RENAME Warning "likely-rename" "a circuit new to the register sits in the cavities of one that has left the lists";
    LIKELY_MOVED Warning "likely-moved" "an end new to the register is likely one that its circuit has lost in another cavity";
    FONT_OUTSIDE_JOB Error "font-outside-job" "job.toml names a font file that does not lie in the job folder";
    FONT_NOT_FOUND Error "font-not-found" "job.toml names a font file that is not there";
    UNREADABLE_FONT Error "unreadable-font" "the disk refuses to give a font file";
    FONT_TOO_BIG Error "font-too-big" "a font file is larger than 64 MiB";
    TOO_MANY_FONTS Error "too-many-fonts" "job.toml names more than 16 font files";
    UNUSABLE_FONT Error "unusable-font" "a font file is no font, or none that a PDF can hold";
    FONT_NOT_LICENSED Error "font-not-licensed" "the maker of a font does not allow it to be embedded";
    VARIABLE_FONT Warning "variable-font" "a font has axes, and is drawn as it stands without them, often thin";
    UNKNOWN_STOCK Error "unknown-stock" "there is no stock of this name, built in or in the job folder";
    UNKNOWN_WORDING Error "unknown-wording" "there is no wording of this name, built in or in the job folder";
    UNREADABLE_TEMPLATE Error "unreadable-template" "a stock file or a wording of the job folder cannot be read";
    STOCK_NOT_FOR_FLAGS Error "stock-not-for-flags" "flags shall be made of stock that has no labels, or of wraps or plates";
    STOCK_NOT_FOR_WRAPS Error "stock-not-for-wraps" "wraps shall be made of stock without a clear tail";
    STOCK_NOT_FOR_TIE_ONS Error "stock-not-for-tie-ons" "tie-ons shall be made of stock without holes";
    STOCK_NOT_FOR_STRIPS Error "stock-not-for-strips" "strips shall be cut from stock that is not paper";
    FOUND_OTHERWISE Warning "found-otherwise" "the bench found something else than the list says";
    LIVE_NOT_CAPPED Warning "live-not-capped" "an end that is fed with every switch off was cut or pulled, and no cap is noted";
    OLD_DESIGNATION Warning "old-designation" "a list still gives a circuit the designation that it had before `rename`";
    EXPORT_TOO_BIG Error "export-too-big" "a file of the export is larger than 256 MiB";
    DECISION_WITHOUT_END Warning "decision-without-end" "something was decided of an end that no list has any more";
    RUN_NOT_READ Warning "run-not-read" "a run.json cannot be read, and what its tags said is not known";
    RUN_CONTRADICTS Warning "run-contradicts" "a run.json has a code on another circuit than is known";
    STOCK_NOT_A_TUBE Error "stock-not-a-tube" "the tubes at hand name stock that is not a tube";
}

/// The kinds of problems of all steps, in the order of the steps: their stable ids, how much they matter, what they mean.
pub fn all_problem_kinds() -> impl Iterator<Item = &'static ProblemKind> {
    let steps = [
        settings::problem_kinds(),
        circuits::problem_kinds(),
        codes::problem_kinds(),
        labels::problem_kinds(),
        pages::problem_kinds(),
        problem_kinds(),
    ];
    steps.into_iter().flatten()
}

/// Whether a warning must be seen before tags are printed, however many others there are: what hurts people or burns wires,
/// circuits that would get a second code for ever, and labels that stay empty.
pub fn must_be_seen(problem: &Problem) -> bool {
    problem.id == LIKELY_RENAME.id
        || problem.id == LIKELY_MOVED.id
        || problem.id == LIVE_NOT_CAPPED.id
        || is_danger(problem)
        || pages::is_out_of_reach(problem)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::fs;
    use std::path::Path;

    use super::*;
    use crate::base::Severity;

    #[test]
    fn ids_differ_and_are_plain_and_meanings_are_short() {
        let ids: BTreeSet<&str> = all_problem_kinds().map(|kind| kind.id).collect();
        assert_eq!(ids.len(), all_problem_kinds().count());
        for kind in all_problem_kinds() {
            assert!(kind.id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{}", kind.id);
            assert!(!kind.meaning.contains('\n') && !kind.meaning.ends_with('.'), "{}", kind.id);
        }
    }

    /// Kinds are declared by one macro; a step that declares some and is not asked for them here would go unnoticed.
    #[test]
    fn no_kind_is_forgotten() {
        let mut declared = BTreeSet::new();
        for text in sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src")) {
            for block in text.split("\nproblem_kinds! {").skip(1) {
                let block = block.split("\n}").next().expect("split gives one part");
                let id = |line: &str| line.split('"').nth(1).map(str::to_owned);
                declared.extend(block.lines().filter_map(id));
            }
        }
        let known: BTreeSet<String> = all_problem_kinds().map(|kind| kind.id.to_owned()).collect();
        assert_eq!(declared, known);
    }

    #[expect(clippy::disallowed_methods, reason = "the test reads the source")]
    fn sources(folder: &Path) -> Vec<String> {
        let mut texts = Vec::new();
        for entry in fs::read_dir(folder).expect("listed") {
            let path = entry.expect("listed").path();
            if path.is_dir() {
                texts.extend(sources(&path));
            } else if path.extension().is_some_and(|end| end == "rs") {
                texts.push(fs::read_to_string(&path).expect("read"));
            }
        }
        texts
    }

    /// The page for users has a heading for every kind, with what the code says of it, and none besides.
    #[test]
    fn the_page_of_problems_is_complete() {
        let page = include_str!("../../PROBLEMS.md");
        for kind in all_problem_kinds() {
            let severity = if kind.severity == Severity::Error { "error" } else { "warning" };
            let entry = format!("\n### {}\n\n**{severity}**: {}.\n", kind.id, kind.meaning);
            assert!(page.contains(&entry), "PROBLEMS.md lacks this entry:\n{entry}");
        }
        assert_eq!(page.matches("\n### ").count(), all_problem_kinds().count());
    }
}
