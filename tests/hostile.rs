//! Hostile files of a megabyte: the real program must end on each within two
//! seconds and 300 MB, with an error or with findings.
//!
//! The limits hold for an optimised program on an idle machine: `FRETGRIN_BIN`
//! names one. Without it the program of this build is run, and allowed more
//! time. `FRETGRIN_HOSTILE=list` prints what each file took.

#![expect(clippy::unwrap_used, reason = "a test fails loudly")]
#![expect(clippy::print_stderr, reason = "the list is asked for")]
#![cfg(target_os = "linux")]

#[path = "support/hostile.rs"]
mod hostile;

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use hostile::{Hostile, SIZE};

/// Longest a file of a megabyte may take, and the most memory.
const LONGEST: Duration = Duration::from_secs(2);
const MOST_MEMORY_KB: u64 = 300_000;
/// How much longer a program that is not optimised may take, on a machine busy
/// with other tests.
const UNOPTIMISED: u32 = 10;

struct Ran {
    code: Option<i32>,
    took: Duration,
    memory_kb: u64,
    said: String,
}

/// Runs the program on a file; kills it when it takes ten times too long.
fn run(file: &Path, folder: &Path, patience: Duration) -> Ran {
    let program = std::env::var_os("FRETGRIN_BIN").unwrap_or_else(|| env!("CARGO_BIN_EXE_fretgrin").into());
    let is_shop = file.extension().is_some_and(|e| e == "toml");
    let mut command = Command::new(program);
    if is_shop {
        command.args(["shop", "show", "--shop"])
    } else {
        command.arg("check")
    };
    let errors = folder.join("errors");
    command.arg(file).stdin(Stdio::null()).stdout(Stdio::null()).stderr(fs::File::create(&errors).unwrap());
    let started = Instant::now();
    let mut child = command.spawn().unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut memory_kb = 0;
    let code = loop {
        // The high-water mark only grows, so the last look before the end counts.
        memory_kb = memory_kb.max(high_water(&status));
        if let Some(ended) = child.try_wait().unwrap() {
            break ended.code();
        }
        if started.elapsed() > patience * 10 {
            child.kill().unwrap();
            child.wait().unwrap();
            break None;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let said = String::from_utf8_lossy(&fs::read(errors).unwrap()).lines().next().unwrap_or("").to_owned();
    Ran { code, took: started.elapsed(), memory_kb, said }
}

fn high_water(status: &str) -> u64 {
    let text = fs::read_to_string(status).unwrap_or_default();
    let line = text.lines().find(|line| line.starts_with("VmHWM:")).unwrap_or("");
    line.split_ascii_whitespace().nth(1).and_then(|kb| kb.parse().ok()).unwrap_or(0)
}

#[test]
fn a_hostile_megabyte_ends_in_two_seconds_and_300_mb() {
    let folder = tempfile::tempdir().unwrap();
    let optimised = std::env::var_os("FRETGRIN_BIN").is_some();
    let longest = if optimised { LONGEST } else { LONGEST * UNOPTIMISED };
    let list = std::env::var_os("FRETGRIN_HOSTILE").is_some();
    let mut wrong = Vec::new();
    for (number, Hostile { tries, ending, bytes }) in hostile::all().into_iter().enumerate() {
        assert!(bytes.len() <= SIZE + 50_000, "{tries} is {} bytes", bytes.len());
        let file = folder.path().join(format!("{number}.{ending}"));
        fs::write(&file, &bytes).unwrap();
        let ran = run(&file, folder.path(), longest);
        let line = format!(
            "{:>7.3} s {:>4} MB  exit {:?}  {tries} ({} kB): {}",
            ran.took.as_secs_f64(),
            ran.memory_kb / 1000,
            ran.code,
            bytes.len() / 1000,
            ran.said.chars().take(150).collect::<String>()
        );
        if list {
            eprintln!("{line}");
        }
        let ended = matches!(ran.code, Some(0..=2)) && !ran.said.contains("panicked");
        if !ended || ran.took > longest || ran.memory_kb > MOST_MEMORY_KB {
            wrong.push(line);
        }
        fs::remove_file(&file).unwrap();
    }
    assert!(wrong.is_empty(), "over the limits:\n{}", wrong.join("\n"));
}
