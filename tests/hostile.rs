//! Hostile files of a megabyte: the real program must end on each within two
//! seconds and 300 MB, with an error or with findings.
//!
//! Counted is the processor's time, so that other work on the machine does not
//! count; the program works on one file with one thread. The limits hold for an
//! optimised program: `FRETGRIN_BIN` names one. Without it the program of this
//! build is run, and allowed more time. `FRETGRIN_HOSTILE=list` prints what each
//! file took, `FRETGRIN_HOSTILE=WORD` runs and keeps only what has the word.

#![expect(clippy::unwrap_used, reason = "a test fails loudly")]
#![expect(clippy::print_stderr, reason = "the list is asked for")]
#![cfg(target_os = "linux")]

#[path = "support/hostile.rs"]
mod hostile;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use hostile::{Hostile, SIZE};

/// Longest a file of a megabyte may take, and the most memory.
const LONGEST: Duration = Duration::from_secs(2);
const MOST_MEMORY_KB: u64 = 300_000;
/// How much longer a program that is not optimised may take.
const UNOPTIMISED: u32 = 5;
/// How much longer the wall's clock may run on a busy machine, before a run is
/// given up.
const BUSY: u32 = 15;

struct Ran {
    code: Option<i32>,
    worked: Duration,
    memory_kb: u64,
    said: String,
}

/// Runs the program on a file; kills it when it takes ten times too long.
fn run(file: &Path, folder: &Path, patience: Duration) -> Ran {
    let program = std::env::var_os("FRETGRIN_BIN").unwrap_or_else(|| env!("CARGO_BIN_EXE_fretgrin").into());
    let name = file.to_string_lossy();
    let is_shop = name.ends_with(".toml") && !name.ends_with(".fretgrin.toml");
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
    let process = PathBuf::from(format!("/proc/{}", child.id()));
    let (mut memory_kb, mut worked) = (0, Duration::ZERO);
    let code = loop {
        // Both only grow, so the last look before the end counts.
        memory_kb = memory_kb.max(high_water(&process));
        worked = worked.max(processor_time(&process));
        if let Some(ended) = child.try_wait().unwrap() {
            break ended.code();
        }
        if worked > patience * 3 || started.elapsed() > patience * BUSY {
            child.kill().unwrap();
            child.wait().unwrap();
            break None;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let said = String::from_utf8_lossy(&fs::read(errors).unwrap()).lines().next().unwrap_or("").to_owned();
    Ran { code, worked, memory_kb, said }
}

/// Time the processor gave to the process so far: user and system, in
/// hundredths of a second (proc(5), `stat`, fields 14 and 15).
fn processor_time(process: &Path) -> Duration {
    let text = fs::read_to_string(process.join("stat")).unwrap_or_default();
    let fields = text.rsplit(')').next().unwrap_or("").split_ascii_whitespace().skip(11).take(2);
    Duration::from_millis(10 * fields.filter_map(|f| f.parse::<u64>().ok()).sum::<u64>())
}

/// The most memory the process held so far, kB.
fn high_water(process: &Path) -> u64 {
    let text = fs::read_to_string(process.join("status")).unwrap_or_default();
    let line = text.lines().find(|line| line.starts_with("VmHWM:")).unwrap_or("");
    line.split_ascii_whitespace().nth(1).and_then(|kb| kb.parse().ok()).unwrap_or(0)
}

#[test]
fn a_hostile_megabyte_ends_in_two_seconds_and_300_mb() {
    let folder = tempfile::tempdir().unwrap();
    let optimised = std::env::var_os("FRETGRIN_BIN").is_some();
    let longest = if optimised { LONGEST } else { LONGEST * UNOPTIMISED };
    let wanted = std::env::var("FRETGRIN_HOSTILE").ok();
    let word = wanted.as_deref().filter(|word| *word != "list").unwrap_or("");
    let mut wrong = Vec::new();
    for (number, Hostile { tries, ending, bytes }) in
        hostile::all().into_iter().filter(|h| h.tries.contains(word)).enumerate()
    {
        assert!(bytes.len() <= SIZE * 5 / 4, "{tries} is {} bytes", bytes.len());
        let file = folder.path().join(format!("{number}.{ending}"));
        fs::write(&file, &bytes).unwrap();
        let ran = run(&file, folder.path(), longest);
        let line = format!(
            "{:>7.3} s {:>4} MB  exit {:?}  {tries} ({} kB): {}",
            ran.worked.as_secs_f64(),
            ran.memory_kb / 1000,
            ran.code,
            bytes.len() / 1000,
            ran.said.chars().take(150).collect::<String>()
        );
        if wanted.is_some() {
            eprintln!("{line}");
        }
        let ended = matches!(ran.code, Some(0..=2)) && !ran.said.contains("panicked");
        if !ended || ran.worked > longest || ran.memory_kb > MOST_MEMORY_KB {
            wrong.push(line);
        }
        if word.is_empty() {
            fs::remove_file(&file).unwrap();
        } else {
            fs::copy(&file, std::env::temp_dir().join(format!("hostile-{number}.{ending}"))).unwrap();
        }
    }
    assert!(wrong.is_empty(), "over the limits:\n{}", wrong.join("\n"));
}
