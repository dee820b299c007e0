//! Progress bars, shown on a terminal and nowhere else.

use std::io::{self, IsTerminal};
use std::sync::Mutex;

use indicatif::{ProgressBar, ProgressStyle};

use crate::run::{Progress, Silent};

/// Does work with its progress shown, where a person looks at standard error.
pub fn with_bars<T>(work: impl FnOnce(&dyn Progress) -> T) -> T {
    if !io::stderr().is_terminal() {
        return work(&Silent);
    }
    let bars = Bars::default();
    let done = work(&bars);
    bars.end();
    done
}

/// A bar for each stretch of work; each goes away when the next begins.
#[derive(Default)]
struct Bars {
    current: Mutex<Option<ProgressBar>>,
}

impl Bars {
    /// Takes the last bar away.
    fn end(&self) {
        if let Some(bar) = self.lock().take() {
            bar.finish_and_clear();
        }
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Option<ProgressBar>> {
        // A bar is only a picture: one left behind by a panic elsewhere is still good.
        self.current.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

impl Progress for Bars {
    fn begin(&self, what: &str, steps: usize) {
        self.end();
        // Standard error is indicatif's own choice.
        let bar = ProgressBar::new(steps as u64);
        if let Ok(style) = ProgressStyle::with_template("{pos}/{len} {msg} {bar:30} {eta}") {
            bar.set_style(style);
        }
        bar.set_message(what.to_owned());
        *self.lock() = Some(bar);
    }

    fn advance(&self, steps: usize) {
        if let Some(bar) = &*self.lock() {
            bar.inc(steps as u64);
        }
    }
}
