//! What printers say of themselves, their jobs and their refusals, in plain words.
//!
//! Keywords: RFC 8011, 5.3.8 (job-state-reasons) and 5.4.12 (printer-state-reasons); PWG 5100.9, table 4 (more of these; from memory).

/// The words of a `printer-state-reasons` keyword; `None` for `none`.
pub(super) fn printer_reason(keyword: &str) -> Option<String> {
    let (bare, is_report) = ["-error", "-warning", "-report"]
        .iter()
        .find_map(|end| Some((keyword.strip_suffix(end)?, *end == "-report")))
        .unwrap_or((keyword, false));
    if bare == "none" || is_report {
        return None;
    }
    let words = PRINTER_REASONS.iter().find(|(known, _)| *known == bare).map(|(_, words)| *words);
    Some(words.map_or_else(|| format!("it says `{}`", super::answer::plain(keyword)), str::to_owned))
}

/// Whether the printer cannot go on before somebody has done something.
pub(super) fn stops(keyword: &str) -> bool {
    const STOPPING: [&str; 12] = [
        "media-needed",
        "media-jam",
        "media-empty",
        "paused",
        "stopped",
        "door-open",
        "cover-open",
        "interlock-open",
        "toner-empty",
        "marker-supply-empty",
        "input-tray-missing",
        "output-area-full",
    ];
    let bare = keyword.strip_suffix("-error").unwrap_or(keyword);
    STOPPING.contains(&bare)
}

const PRINTER_REASONS: [(&str, &str); 41] = [
    ("other", "something is wrong that it does not name: look at its display"),
    ("media-needed", "it wants the paper or labels of this job: lay them in and confirm on the printer"),
    ("media-jam", "paper or labels are jammed: take them out"),
    ("media-low", "paper or labels are nearly used up"),
    ("media-empty", "paper or labels are used up: lay in more"),
    ("moving-to-paused", "it is about to pause"),
    ("paused", "it is paused: let it go on at the printer"),
    ("shutdown", "it is switching itself off, or off already"),
    ("connecting-to-device", "it is being connected"),
    ("timed-out", "it does not answer whoever passes jobs to it"),
    ("stopping", "it is about to stop"),
    ("stopped-partly", "a part of it has stopped"),
    ("stopped", "it has stopped: look at its display"),
    ("toner-low", "toner is nearly used up"),
    ("toner-empty", "toner is used up: change the cartridge"),
    ("spool-area-full", "its memory is full: wait, or delete old jobs on it"),
    ("cover-open", "a cover is open: close it"),
    ("interlock-open", "a safety switch is open: close all covers"),
    ("door-open", "a door is open: close it"),
    ("input-tray-missing", "a tray is missing: push it in"),
    ("output-tray-missing", "the output tray is missing"),
    ("output-area-almost-full", "the output is nearly full"),
    ("output-area-full", "the output is full: take the pages away"),
    ("marker-supply-low", "ink, toner or ribbon is nearly used up"),
    ("marker-supply-empty", "ink, toner or ribbon is used up: change it"),
    ("marker-waste-almost-full", "its waste box is nearly full"),
    ("marker-waste-full", "its waste box is full: change it"),
    ("fuser-over-temp", "its fuser is too hot: wait"),
    ("fuser-under-temp", "its fuser is warming up"),
    ("opc-near-eol", "its drum is nearly worn out"),
    ("opc-life-over", "its drum is worn out: change it"),
    ("developer-low", "developer is nearly used up"),
    ("developer-empty", "developer is used up"),
    ("interpreter-resource-unavailable", "it lacks something to draw the pages, such as memory"),
    ("input-manual-input-request", "it waits for paper or labels to be fed by hand"),
    ("input-media-size-change", "another size lies in the tray than it expects"),
    ("input-cannot-feed-size-selected", "it cannot feed this size from the tray"),
    ("power-down", "it is switching itself off"),
    ("hold-new-jobs", "it takes jobs but prints none yet: let it go on at the printer"),
    ("cleaner-life-over", "its cleaner is worn out"),
    ("configuration-change", "its settings are being changed"),
];

/// The words of a `job-state-reasons` keyword; `None` for those that say no more than the state does.
pub(super) fn job_reason(keyword: &str) -> Option<String> {
    let words = match keyword {
        "none"
        | "job-completed-successfully"
        | "job-printing"
        | "job-incoming"
        | "job-queued"
        | "job-interpreting"
        | "job-transforming"
        | "job-outgoing"
        | "processing-to-stop-point"
        | "job-data-insufficient"
        | "job-queued-for-marker"
        | "job-spooling"
        | "job-streaming" => return None,
        "aborted-by-system" => "the printer gave it up",
        "job-canceled-by-user" => "somebody cancelled it",
        "job-canceled-by-operator" | "job-canceled-at-device" => "it was cancelled at the printer",
        "job-completed-with-errors" => "with errors: look whether all pages are there",
        "job-completed-with-warnings" => "with warnings: look at the pages",
        "printer-stopped" | "printer-stopped-partly" => "the printer has stopped",
        "resources-are-not-ready" => "the printer lacks something, such as paper of this size",
        "unsupported-document-format" => "it cannot read this kind of document",
        "document-format-error" => "it found faults in the document",
        "document-access-error" => "it could not get the document",
        "unsupported-attributes-or-values" => "it cannot do what was asked of it",
        "unsupported-compression" | "compression-error" => "it could not unpack the document",
        "submission-interrupted" => "the document did not arrive whole",
        "job-hold-until-specified"
        | "job-held-for-authorization"
        | "job-held-for-release"
        | "job-password-wait"
        | "job-held-for-button-press"
        | "job-held-on-create" => "it is held until somebody releases it at the printer",
        "account-authorization-failed" | "account-closed" | "account-info-needed" | "account-limit-reached" => {
            "the printer counts pages for accounts and wants one"
        }
        "service-off-line" => "the printer is off line",
        "queued-in-device" => "it is in the printer's own queue",
        other => return Some(format!("it says `{}`", super::answer::plain(other))),
    };
    Some(words.to_owned())
}

/// Why a printer refuses (RFC 8011, B.1.4 and B.1.5), and whether it may take the same later.
pub(super) fn refusal_in_words(status: u16, message: Option<&str>, unsupported: &[String]) -> (String, bool) {
    let (words, is_passing) = match status {
        0x0400 => ("it does not understand the question".to_owned(), false),
        0x0404 => ("it cannot be done now".to_owned(), true),
        0x0405 => ("the document came too slowly".to_owned(), true),
        0x0406 | 0x0407 => ("it knows no such job".to_owned(), false),
        0x0408 => ("the document is too large for it".to_owned(), false),
        0x0409 => ("a value is too long for it".to_owned(), false),
        0x040a => ("it does not take this kind of document".to_owned(), false),
        0x040b => ("it does not support all that was asked".to_owned(), false),
        0x040e => ("what was asked does not go together".to_owned(), false),
        0x0411 => ("it found faults in the document".to_owned(), false),
        0x0500 => ("it has an error of its own".to_owned(), true),
        0x0501 => ("it lacks this operation".to_owned(), false),
        0x0502 => ("it is not there at the moment".to_owned(), true),
        0x0503 => ("it speaks another version of IPP".to_owned(), false),
        0x0504 => ("its mechanism has failed: look at its display".to_owned(), true),
        0x0505 => ("it has a passing error, such as full memory".to_owned(), true),
        0x0506 => ("it takes no jobs now".to_owned(), true),
        0x0507 => ("it is busy".to_owned(), true),
        0x0508 => ("the job was cancelled".to_owned(), false),
        other => (format!("status {other:#06x}"), false),
    };
    let mut words = words;
    if !unsupported.is_empty() {
        words.push_str(&format!(" ({})", unsupported.join(", ")));
    }
    if let Some(message) = message {
        words.push_str(&format!("; it says `{message}`"));
    }
    (words, is_passing)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reasons_in_words() {
        assert_eq!(printer_reason("none"), None);
        assert_eq!(printer_reason("media-empty-error"), printer_reason("media-empty"));
        assert!(printer_reason("door-open").expect("words").contains("door"));
        assert_eq!(printer_reason("toner-low-report"), None);
        assert_eq!(printer_reason("x-\u{7}odd"), Some("it says `x- odd`".to_owned()));
        assert!(stops("media-jam-error") && !stops("toner-low-warning"));
        assert_eq!(job_reason("job-printing"), None);
    }

    #[test]
    fn refusals_tell_what_the_printer_says() {
        let (words, is_passing) = refusal_in_words(0x040b, Some("no such size"), &["media-col".to_owned()]);
        assert_eq!(words, "it does not support all that was asked (media-col); it says `no such size`");
        assert!(!is_passing && refusal_in_words(0x0507, None, &[]).1);
    }
}
