//! What a run may touch and what it may leave: killed, on a full disk, or fed
//! with drawings that name other files.

#![expect(clippy::unwrap_used, reason = "a test stops where its own bench is broken")]
#![expect(clippy::print_stderr, reason = "a skipped test says why")]
#![cfg(target_os = "linux")]

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

/// Two eyes with an island in one, and a mouth: something for every command.
const FACE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="90mm" viewBox="0 0 80 90">
<path fill-rule="evenodd" d="M9 25a11 11 0 0 1 22 0a11 11 0 0 1-22 0M14 25a6 6 0 0 1 12 0a6 6 0 0 1-12 0"/>
<circle cx="60" cy="25" r="9"/><ellipse cx="40" cy="70" rx="25" ry="9"/></svg>"#;

/// Every command that writes, each into the folder `out`.
const WRITERS: [&[&str]; 9] = [
    &["prepare", "face.svg"],
    &["prepare", "face.svg", "--mend"],
    &["mend", "face.svg"],
    &["export", "face.svg"],
    &["ruler"],
    &["box", "--shop", "lantern.toml"],
    &["batch", "--shop", "batch.toml"],
    &["survey", "face.svg"],
    &["shop", "new"],
];

fn bench() -> tempfile::TempDir {
    let bench = tempfile::tempdir().unwrap();
    fs::write(bench.path().join("face.svg"), FACE).unwrap();
    let shop = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-faces/shop.toml");
    fs::copy(shop, bench.path().join("lantern.toml")).unwrap();
    let two = "[box]\n[[batch.faces]]\nart = \"face.svg\"\nboxes = 2\n";
    fs::write(bench.path().join("batch.toml"), two).unwrap();
    bench
}

fn command(bench: &Path, args: &[&str], out: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fretgrin"));
    command.current_dir(bench).args(args).args(["--out", out]);
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

/// Every file in `folder` by name, hidden folders left aside.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeMap::new() };
    let named = entries.map(|e| e.unwrap().path()).map(|p| (p.file_name().unwrap().to_string_lossy().into_owned(), p));
    named.filter(|(name, _)| !name.starts_with('.')).map(|(name, path)| (name, fs::read(path).unwrap())).collect()
}

fn hidden(folder: &Path) -> usize {
    let names = fs::read_dir(folder).unwrap().map(|e| e.unwrap());
    // An empty folder may be a run that has only just begun.
    let full = |e: &fs::DirEntry| fs::read_dir(e.path()).is_ok_and(|mut inside| inside.next().is_some());
    names.filter(|e| e.file_name().to_string_lossy().starts_with('.') && full(e)).count()
}

#[test]
fn a_run_killed_at_any_moment_leaves_only_whole_files() {
    const KILLS: u32 = 16;
    let bench = bench();
    for args in WRITERS {
        command(bench.path(), args, "whole").status().unwrap();
        let whole = files(&bench.path().join("whole"));
        assert!(!whole.is_empty(), "{args:?} writes something");
        let started = Instant::now();
        command(bench.path(), args, "out").status().unwrap();
        let usual = started.elapsed();
        for i in 0..=KILLS {
            let mut child = command(bench.path(), args, "out").spawn().unwrap();
            // Closer together towards the end, where the files are written.
            std::thread::sleep(usual.mul_f64(1.0 - (1.0 - f64::from(i) / f64::from(KILLS)).powi(2)));
            child.kill().unwrap();
            child.wait().unwrap();
            for (name, bytes) in files(&bench.path().join("out")) {
                assert!(whole.get(&name) == Some(&bytes), "{args:?}: {name} is torn after kill {i}");
            }
        }
        command(bench.path(), args, "out").status().unwrap();
        assert!(files(&bench.path().join("out")) == whole, "{args:?}: the next run makes all whole");
        assert_eq!(hidden(&bench.path().join("out")), 0, "{args:?}: and sweeps up");
        for folder in ["whole", "out"] {
            fs::remove_dir_all(bench.path().join(folder)).unwrap();
        }
    }
}

/// Runs `args` into a disk of `size`; `None` where no disk can be made here,
/// else the exit code, the words and what was left on the disk.
fn on_a_small_disk(bench: &Path, args: &[&str], size: &str) -> Option<(Option<i32>, String, usize)> {
    let disk = bench.join("disk");
    fs::create_dir_all(&disk).unwrap();
    let options = format!("size={size}");
    let mount: [&OsStr; 6] = ["-t", "tmpfs", "-o", &options, "tmpfs", "disk"].map(OsStr::new);
    let mounted = Command::new("mount").current_dir(bench).args(mount).stderr(Stdio::null()).status();
    if !mounted.is_ok_and(|status| status.success()) {
        return None;
    }
    let ran = command(bench, args, "disk").stderr(Stdio::piped()).output().unwrap();
    let left = fs::read_dir(&disk).unwrap().count();
    Command::new("umount").arg(&disk).status().unwrap();
    Some((ran.status.code(), String::from_utf8(ran.stderr).unwrap(), left))
}

#[test]
fn a_full_disk_is_told_and_left_clean() {
    let bench = bench();
    for args in WRITERS {
        // Room for nothing, and for the first of several files.
        for size in ["4k", "16k"] {
            let Some((code, said, left)) = on_a_small_disk(bench.path(), args, size) else {
                let required = std::env::var_os("REQUIRE_EXTERNAL").is_some();
                assert!(!required, "no right to mount a small tmpfs here");
                eprintln!("skipped: no right to mount a small tmpfs here");
                return;
            };
            if code == Some(2) {
                assert!(said.contains("the disk is full"), "{args:?} on {size}: {said}");
                assert_eq!(left, 0, "{args:?}: nothing is left on the full disk of {size}");
            } else {
                assert!(left > 0 && size != "4k", "{args:?} on {size} ended with {code:?}: {said}");
            }
        }
    }
}

#[test]
fn a_limit_on_file_sizes_tears_nothing() {
    let bench = bench();
    for args in WRITERS {
        // In blocks of 512 bytes (POSIX, ulimit): the system ends the program
        // in the middle of writing.
        let line = format!("ulimit -f 2; exec \"$0\" {} --out out", args.join(" "));
        let program = env!("CARGO_BIN_EXE_fretgrin");
        let output = Command::new("sh").current_dir(bench.path()).args(["-c", &line, program]).output().unwrap();
        assert!(!output.status.success(), "{args:?} cannot be done");
        let left = files(&bench.path().join("out"));
        assert!(left.is_empty(), "{args:?} left {:?}", left.keys());
        drop(fs::remove_dir_all(bench.path().join("out")));
    }
}

/// Drawings that name what they should not get. The name is `outside` in all.
fn curious() -> Vec<(&'static str, String)> {
    let svg = |body: &str| {
        let ink = "<path d=\"M0 0h60v60z\"/>";
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" viewBox=\"0 0 90 90\">{body}{ink}</svg>"
        )
    };
    let image = |address: &str| svg(&format!("<image href=\"{address}\" width=\"9\" height=\"9\"/>"));
    vec![
        ("image.svg", image("outside.png")),
        ("image-above.svg", image("../../outside.svg")),
        ("image-root.svg", image("/outside/face.png")),
        ("image-file.svg", image("file:///outside.png")),
        ("image-web.svg", image("http://localhost:9/outside.png")),
        ("image-xlink.svg", svg("<image xlink:href=\"outside.png\" width=\"9\" height=\"9\"/>")),
        ("use.svg", svg("<use href=\"outside.svg#owl\"/>")),
        ("use-web.svg", svg("<use href=\"https://localhost:9/outside.svg#owl\"/>")),
        ("import.svg", svg("<style>@import url(outside.css);</style>")),
        ("import-web.svg", svg("<style>@import 'http://localhost:9/outside.css';</style>")),
        ("font.svg", svg("<style>@font-face{font-family:outside;src:url(outside.ttf)}</style><text font-family=\"outside\">a</text>")),
        ("sheet.svg", format!("<?xml-stylesheet href=\"outside.css\"?>{}", svg(""))),
        ("entity.svg", format!("<!DOCTYPE svg [<!ENTITY a SYSTEM \"outside.txt\">]>{}", svg("<desc>&a;</desc>"))),
        ("parameter.svg", format!("<!DOCTYPE svg [<!ENTITY % a SYSTEM \"outside.dtd\">%a;]>{}", svg(""))),
        ("doctype.svg", format!("<!DOCTYPE svg SYSTEM \"outside.dtd\">{}", svg(""))),
        ("include.svg", svg("<xi:include xmlns:xi=\"http://www.w3.org/2001/XInclude\" href=\"outside.svg\"/>")),
        ("filter.svg", svg("<filter id=\"f\"><feImage href=\"outside.png\"/></filter><path filter=\"url(#f)\" d=\"M0 0h9v9z\"/>")),
        ("fill.svg", svg("<path fill=\"url(outside.svg#g)\" d=\"M0 0h9v9z\"/>")),
        ("script.svg", svg("<script href=\"outside.js\"/>")),
        ("block.dxf", "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nX\n70\n4\n1\noutside.dwg\n0\nENDBLK\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
                       0\nINSERT\n2\nX\n0\nIMAGE\n1\noutside.png\n0\nCIRCLE\n10\n0\n20\n0\n40\n9\n0\nENDSEC\n0\nEOF\n".to_owned()),
    ]
}

/// What the loader, the C library and the standard library read on their own:
/// libraries, the process's own facts, how many processors there are, whether memory
/// a thread gave back may be kept.
const SYSTEM: [&str; 9] = [
    "/lib",
    "/usr/lib",
    "/etc/ld.so",
    "/proc/self/",
    "/sys/fs/cgroup",
    "/sys/devices/system/cpu",
    "/dev/",
    "/proc/stat",
    "/proc/sys/vm/overcommit_memory",
];

/// The calls of a run that touch a file or the network; `None` without strace.
fn traced(bench: &Path, args: &[&str]) -> Option<String> {
    let log = bench.join("calls");
    let strace = Command::new("strace")
        // cargo points the loader at its own folders, where the loader then looks.
        .env_remove("LD_LIBRARY_PATH")
        .current_dir(bench)
        .args(["-f", "-qq", "-s", "400", "-e", "trace=%file,%network,execve", "-o", "calls"])
        .arg(env!("CARGO_BIN_EXE_fretgrin"))
        .args(args)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    let ran = strace.is_ok_and(|status| status.code().is_some_and(|code| code <= 2)) && log.exists();
    assert!(ran || std::env::var_os("REQUIRE_EXTERNAL").is_none(), "strace cannot be run");
    let calls = ran.then(|| fs::read_to_string(&log).unwrap());
    drop(fs::remove_file(&log));
    calls
}

/// The calls that are not the program's business.
fn out_of_place(calls: &str, bench: &Path) -> Vec<String> {
    let bench = bench.to_string_lossy();
    let network = ["socket(", "connect(", "bind(", "sendto(", "sendmsg(", "getaddrinfo"];
    let mut started = 0;
    let mut wrong = Vec::new();
    for call in calls.lines() {
        started += usize::from(call.contains("execve("));
        let opens = ["open(", "openat(", "creat("].iter().any(|name| call.contains(name));
        let path = call.split('"').nth(1).unwrap_or("");
        let inside = !path.starts_with('/') || path.starts_with(&*bench);
        let system = SYSTEM.iter().any(|place| path.starts_with(place));
        if network.iter().any(|name| call.contains(name))
            || call.contains("outside")
            || started > 1
            || (opens && !inside && !system)
        {
            wrong.push(call.to_owned());
        }
    }
    wrong
}

#[test]
fn nothing_but_the_named_files_is_touched_and_no_network() {
    let bench = bench();
    let home = bench.path().join("a/b");
    fs::create_dir_all(&home).unwrap();
    for (name, content) in curious() {
        fs::write(home.join(name), content).unwrap();
        let Some(calls) = traced(&home, &["prepare", name, "--out", "out"]) else {
            eprintln!("skipped: no strace here");
            return;
        };
        assert!(calls.contains(name), "{name}: the trace holds what was read: {calls}");
        let wrong = out_of_place(&calls, &home);
        assert!(wrong.is_empty(), "{name}:\n{}", wrong.join("\n"));
    }
    for args in WRITERS {
        let calls = traced(bench.path(), &[args, &["--out", "out"]].concat()).unwrap();
        let wrong = out_of_place(&calls, bench.path());
        assert!(wrong.is_empty(), "{args:?}:\n{}", wrong.join("\n"));
    }
}
