//! Where a value came from: file, line and column, with the text around it for the message.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// A list or settings file as it was read, kept so that messages can show the line they speak of.
#[derive(Debug, PartialEq, Eq)]
pub struct Source {
    name: String,
    text: String,
    line_starts: Vec<usize>,
}

impl Source {
    /// A source from its name, as the user knows it (`ecu.csv`), and its decoded text.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Arc<Self> {
        let text = text.into();
        let after_breaks = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
        let line_starts = std::iter::once(0).chain(after_breaks).collect();
        Arc::new(Self { name: name.into(), text, line_starts })
    }

    /// The name, as the user knows it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The whole decoded text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Index of the line that holds this byte, from 0.
    fn line_at(&self, byte: usize) -> usize {
        self.line_starts.partition_point(|&start| start <= byte).saturating_sub(1)
    }

    fn line_range(&self, line: usize) -> Range<usize> {
        let start = self.line_starts[line];
        let end = self.line_starts.get(line + 1).map_or(self.text.len(), |&next| next - 1);
        start..end.max(start)
    }
}

/// A stretch of a source, or a source as a whole.
#[derive(Clone, PartialEq, Eq)]
pub struct Origin {
    source: Arc<Source>,
    span: Option<Range<usize>>,
}

/// The line an origin starts in, for showing it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Excerpt<'a> {
    /// Line number, from 1.
    pub line: usize,
    /// The line without its line break.
    pub text: &'a str,
    /// The bytes of `text` that the origin covers.
    pub marked: Range<usize>,
}

impl Origin {
    /// A stretch of bytes of a source. A stretch outside the text, or not on character borders, becomes the whole source.
    pub fn new(source: &Arc<Source>, span: Range<usize>) -> Self {
        let is_inside = source.text.get(span.clone()).is_some();
        Self { source: Arc::clone(source), span: is_inside.then_some(span) }
    }

    /// A source as a whole.
    pub fn whole(source: &Arc<Source>) -> Self {
        Self { source: Arc::clone(source), span: None }
    }

    /// The source.
    pub fn source(&self) -> &Arc<Source> {
        &self.source
    }

    /// Name of the source.
    pub fn file(&self) -> &str {
        &self.source.name
    }

    /// Line, from 1.
    pub fn line(&self) -> Option<usize> {
        self.span.as_ref().map(|span| self.source.line_at(span.start) + 1)
    }

    /// Column in characters, from 1.
    pub fn column(&self) -> Option<usize> {
        let span = self.span.as_ref()?;
        let line = self.source.line_range(self.source.line_at(span.start));
        Some(self.source.text[line.start..span.start].chars().count() + 1)
    }

    /// The line that the origin starts in; a span over several lines is marked to the end of its first.
    pub fn excerpt(&self) -> Option<Excerpt<'_>> {
        let span = self.span.as_ref()?;
        let index = self.source.line_at(span.start);
        let line = self.source.line_range(index);
        let text = self.source.text[line.clone()].trim_end_matches('\r');
        let start = (span.start - line.start).min(text.len());
        let end = span.end.saturating_sub(line.start).clamp(start, text.len());
        Some(Excerpt { line: index + 1, text, marked: start..end })
    }
}

/// `ecu.csv:14:3`, or `ecu.csv` for a source as a whole.
impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.file())?;
        match (self.line(), self.column()) {
            (Some(line), Some(column)) => write!(f, ":{line}:{column}"),
            _ => Ok(()),
        }
    }
}

impl fmt::Debug for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Origin({self})")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn line_and_column_count_from_one_in_characters() {
        let source = Source::new("ecu.csv", "a,b\r\nä,14,x\n");
        let origin = Origin::new(&source, 8..10);
        assert_eq!(origin.to_string(), "ecu.csv:2:3");
        let excerpt = origin.excerpt().expect("has a line");
        assert_eq!((excerpt.text, &excerpt.text[excerpt.marked.clone()]), ("ä,14,x", "14"));
        assert_eq!(Origin::whole(&source).to_string(), "ecu.csv");
    }

    proptest! {
        #[test]
        fn any_span_is_answered(text in "[a-zä\r\n,]{0,40}", start in 0_usize..50, len in 0_usize..50) {
            let source = Source::new("x", text);
            let origin = Origin::new(&source, start..start + len);
            let _ = (origin.to_string(), origin.excerpt());
        }
    }
}
