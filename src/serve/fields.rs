//! What a form or a query sends.

use serde::Deserialize;

/// Names and values in the order in which they were sent; a name may come several times.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(transparent)]
pub struct Fields(Vec<(String, String)>);

impl Fields {
    /// The first value of a name, as it was sent.
    pub fn sent(&self, name: &str) -> Option<&str> {
        self.all(name).next()
    }

    /// The first value of a name that is not blank, without blanks at its ends.
    pub fn given(&self, name: &str) -> Option<&str> {
        self.all(name).map(str::trim).find(|value| !value.is_empty())
    }

    /// The same, and nothing where there is none.
    pub fn text(&self, name: &str) -> &str {
        self.given(name).unwrap_or_default()
    }

    /// Whether a name was sent, whatever its value.
    pub fn has(&self, name: &str) -> bool {
        self.sent(name).is_some()
    }

    /// All values of a name.
    pub fn all<'f>(&'f self, name: &str) -> impl Iterator<Item = &'f str> {
        self.iter().filter(move |(known, _)| *known == name).map(|(_, value)| value)
    }

    /// All of them.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, value)| (name.as_str(), value.as_str()))
    }

    /// Whether nothing was sent.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl<N: Into<String>, V: Into<String>> FromIterator<(N, V)> for Fields {
    fn from_iter<I: IntoIterator<Item = (N, V)>>(pairs: I) -> Self {
        Self(pairs.into_iter().map(|(name, value)| (name.into(), value.into())).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::Fields;

    #[test]
    fn values_are_told_by_their_names() {
        let fields: Fields = [("end", " "), ("end", " 7KF4 A "), ("cells", " a\t"), ("note", "")].into_iter().collect();
        assert_eq!(
            (fields.sent("end"), fields.given("end"), fields.text("end")),
            (Some(" "), Some("7KF4 A"), "7KF4 A")
        );
        assert_eq!((fields.sent("cells"), fields.given("note"), fields.text("other")), (Some(" a\t"), None, ""));
        assert!(fields.has("note") && !fields.has("other"));
        assert_eq!(fields.all("end").count(), 2);
    }
}
