//! How the sheets of a run go through the printer, in words, for whoever lays them in.

use crate::run::record::{FileRecord, SheetRecord};

/// Sheets to lay in, in the order in which they are printed, where any of them is begun.
pub fn before_printing(file: &FileRecord) -> Vec<String> {
    if file.sheets.iter().all(|sheet| sheet.new) {
        return Vec::new();
    }
    let mut lines = vec![format!("lay in {} so that it is printed in this order:", file.stock)];
    for group in file.sheets.chunk_by(|one, other| one.new && other.new) {
        lines.push(match group {
            [only] if only.new => format!("  page {}: a new sheet, numbered {}", only.page, only.number),
            [only] => {
                format!("  page {}: sheet {}, which is begun, the same way round as before", only.page, only.number)
            }
            [first, .., last] => {
                let (pages, numbers) = ((first.page, last.page), (first.number, last.number));
                format!("  pages {} to {}: new sheets, numbered {} to {}", pages.0, pages.1, numbers.0, numbers.1)
            }
            [] => String::new(),
        });
    }
    lines
}

/// Which sheet is which, once they are out; `None` where none is numbered.
pub fn after_printing(file: &FileRecord) -> Option<String> {
    let follow = |first: &SheetRecord, last: &SheetRecord| {
        let more = last.number.checked_sub(first.number);
        more.is_some_and(|more| last.page.checked_sub(first.page) == Some(more as usize))
    };
    Some(match &file.sheets[..] {
        [] => return None,
        [only] => format!("page {} is sheet {}: the number stands in its margin", only.page, only.number),
        [first, .., last] if follow(first, last) => format!(
            "pages {} to {} are sheets {} to {}, in this order",
            first.page, last.page, first.number, last.number
        ),
        many => {
            let all: Vec<String> =
                many.iter().map(|sheet| format!("page {} is sheet {}", sheet.page, sheet.number)).collect();
            all.join(", ")
        }
    })
}
