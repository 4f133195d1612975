//! How long the files named on the command line take to check, in process:
//! `cargo bench --bench table -- FILE…` prints one line of JSON for each, the
//! median of many runs. `tests/external/speed_table.py` sets it beside a script.

#![expect(clippy::print_stdout, reason = "the figures are what it is for")]

use std::time::{Duration, Instant};

use fretgrin::pipeline;
use fretgrin::settings::{Settings, Shop};

/// Each file is checked for about this long …
const LONG: Duration = Duration::from_millis(200);
/// … and at least this often.
const OFTEN: usize = 5;

fn main() {
    let settings = Settings::resolve(&Shop::default()).expect("the built-in settings hold");
    // Cargo adds options of its own.
    for file in std::env::args().skip(1).filter(|arg| !arg.starts_with("--")) {
        let bytes = std::fs::read(&file).expect("the file is there");
        let (begun, mut times) = (Instant::now(), Vec::new());
        while times.len() < OFTEN || begun.elapsed() < LONG {
            let started = Instant::now();
            let outcome = pipeline::check(&bytes, &file, &settings);
            times.push(started.elapsed().as_secs_f64() * 1000.0);
            drop(outcome);
        }
        times.sort_by(f64::total_cmp);
        println!("{}", serde_json::json!({ "file": file, "median_ms": times[times.len() / 2] }));
    }
}
