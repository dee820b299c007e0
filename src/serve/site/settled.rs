//! A page as it is served -> a page as a file: links lead to the files beside it, and there is nothing to send.
//!
//! Every link of a page begins with a mark that no text of a list can make, since quotes in texts are written otherwise.

use super::paths::Paths;
use crate::serve::desk::STILL;

/// The page for the file `file`, a path below the folder of the site.
pub fn page(html: &str, file: &str, paths: &Paths) -> String {
    let up = "../".repeat(file.matches('/').count());
    let mut page = String::with_capacity(html.len());
    let html = without_forms(html);
    let mut rest = &*html;
    while let Some((before, value)) = rest.split_once("=\"/-") {
        let Some((value, after)) = value.split_once('"') else { break };
        rest = after;
        page.push_str(before);
        match target(&format!("/-{value}"), paths) {
            Some(to) => page.push_str(&format!("=\"{up}{to}\"")),
            // It leads to nothing that is a file: what is left is words.
            None => page.truncate(page.rfind(' ').unwrap_or(page.len())),
        }
    }
    page.push_str(rest);
    page
}

/// The file that a link leads to, with what stands behind `#`.
fn target(link: &str, paths: &Paths) -> Option<String> {
    if let Some(asset) = link.strip_prefix("/-/") {
        return asset.split('?').next().map(str::to_owned);
    }
    let link = link.strip_prefix(STILL)?.replace("&amp;", "&");
    let (path, within) = link.split_once('#').map_or((&*link, None), |(path, within)| (path, Some(within)));
    let file = paths.file(path)?;
    // Of a name in a link, what a browser takes for something else is written otherwise (RFC 3986, 2.1).
    let file = file.replace('%', "%25").replace('?', "%3F").replace('#', "%23").replace(' ', "%20").replace('"', "%22");
    Some(match within {
        Some(within) => format!("{file}#{}", within.replace('"', "%22")),
        None => file,
    })
}

/// Nobody answers: a form is left out whole.
fn without_forms(html: &str) -> String {
    let mut page = String::with_capacity(html.len());
    let mut rest = html;
    while let Some((before, form)) = rest.split_once("<form") {
        page.push_str(before);
        rest = form.split_once("</form>").map_or("", |(_, after)| after);
    }
    page.push_str(rest);
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_are_relative_or_gone() {
        let paths = Paths::default();
        let served = "<link href=\"/-/style.css?12\"><a class=\"x\" href=\"/-still-/\">first</a> <a href=\"/-still-/print?a=1&amp;b=2\">print</a>\
            <form action=\"/-still-/x\"><b>y</b></form> &quot;=&quot;/-still-/&quot; <a href=\"#row\">row</a> <a href=\"/-still-/#a\">a</a>";
        let settled = "<link href=\"../../style.css\"><a class=\"x\" href=\"../../index.html\">first</a> <a>print</a> \
            &quot;=&quot;/-still-/&quot; <a href=\"#row\">row</a> <a href=\"../../index.html#a\">a</a>";
        assert_eq!(page(served, "7KF4/A/index.html", &paths), settled);
    }
}
