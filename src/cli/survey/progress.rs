//! A bar on the terminal while the drawer is looked through.

use std::time::{Duration, Instant};

use crate::cli::console::Console;
use crate::survey::words::grouped;

/// The bar is drawn anew no more often: it is to be read, not to flicker.
const PAUSE: Duration = Duration::from_millis(80);
/// Characters of the bar.
const WIDTH: usize = 24;

/// The bar; silent where standard error is no terminal.
pub(super) struct Progress<'a> {
    console: Option<&'a mut Console>,
    total: usize,
    begun: Instant,
    told: Option<Instant>,
}

impl<'a> Progress<'a> {
    pub(super) fn new(console: &'a mut Console, total: usize) -> Self {
        let console = if console.err_is_terminal() { Some(console) } else { None };
        Self { console, total, begun: Instant::now(), told: None }
    }

    /// Tells that `done` are done, `name` last.
    pub(super) fn tell(&mut self, done: usize, name: &str) {
        let Some(console) = self.console.as_deref_mut() else { return };
        let now = Instant::now();
        if self.told.is_some_and(|told| now - told < PAUSE) {
            return;
        }
        self.told = Some(now);
        let columns = console.err_look().columns;
        console.remark(&format!("\r\u{1b}[K{}", line(done, self.total, now - self.begun, name, columns)));
    }

    /// Takes the bar away.
    pub(super) fn clear(&mut self) {
        if let Some(console) = self.console.as_deref_mut().filter(|_| self.told.is_some()) {
            console.remark("\r\u{1b}[K");
        }
    }
}

/// `  [######------]  412 of 1,000  0:03 left  owl.svg`, no wider than the terminal.
fn line(done: usize, total: usize, took: Duration, name: &str, columns: usize) -> String {
    let full = (done * WIDTH).checked_div(total).unwrap_or(WIDTH).min(WIDTH);
    let left = took.as_secs_f64() * total.saturating_sub(done) as f64 / done.max(1) as f64;
    let left = left.round() as u64;
    let text = format!(
        "  [{}{}]  {} of {}  {}:{:02} left  {name}",
        "#".repeat(full),
        "-".repeat(WIDTH - full),
        grouped(done),
        grouped(total),
        left / 60,
        left % 60
    );
    text.chars().take(columns.saturating_sub(1)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_fills_and_never_wraps() {
        let text = line(500, 1000, Duration::from_secs(30), "owl.svg", 100);
        assert_eq!(text, "  [############------------]  500 of 1,000  0:30 left  owl.svg", "half way");
        assert!(line(1000, 1000, Duration::ZERO, &"x".repeat(200), 60).chars().count() < 60, "short");
        assert!(line(0, 0, Duration::ZERO, "", 60).contains("0 of 0"), "nothing to do");
    }
}
