//! Who is told how far long work has come. The library never prints; whoever runs it decides what is shown.

/// Told of the progress of long work, from any thread.
pub trait Progress: Sync {
    /// A stretch of work begins: what it is, and how many steps it has.
    fn begin(&self, what: &str, steps: usize);

    /// So many steps more are done.
    fn advance(&self, steps: usize);
}

/// Shows nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Silent;

impl Progress for Silent {
    fn begin(&self, _what: &str, _steps: usize) {}
    fn advance(&self, _steps: usize) {}
}
