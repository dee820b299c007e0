//! A fingerprint: a number that changes with what it was made from: FNV-1a of 64 bits. It notices accidents, not ill will.

use std::fmt;

/// That of bytes, taken one after the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fingerprint(u64);

impl Fingerprint {
    /// Of nothing yet.
    pub const fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    /// That of these bytes alone.
    pub fn of(bytes: &[u8]) -> Self {
        let mut all = Self::new();
        all.take(bytes);
        all
    }

    /// Takes more.
    pub fn take(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
}

impl Default for Fingerprint {
    fn default() -> Self {
        Self::new()
    }
}

/// Sixteen hexadecimal digits.
impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::Fingerprint;

    /// Worked values that the makers of FNV publish with it.
    #[test]
    fn published_values() {
        for (text, digits) in [("", "cbf29ce484222325"), ("a", "af63dc4c8601ec8c"), ("foobar", "85944171f73967e8")] {
            assert_eq!(Fingerprint::of(text.as_bytes()).to_string(), digits, "{text}");
        }
        let mut parts = Fingerprint::new();
        ["foo", "bar"].iter().for_each(|part| parts.take(part.as_bytes()));
        assert_eq!(parts, Fingerprint::of(b"foobar"));
    }
}
