//! The direction of import and the edge of the program, held by reading the
//! source: a stage may import only what stands to its left.

#![expect(clippy::unwrap_used, reason = "a test fails loudly")]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Each module of the crate, in order, and the modules it may import, itself
/// aside; all stand before it.
const MAY_IMPORT: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("diag", &["units"]),
    ("font", &["diag", "units"]),
    ("geom", &["diag", "units"]),
    ("trade", &["diag", "units"]),
    ("face", &["diag", "geom", "units"]),
    ("settings", &["diag", "face", "trade", "units"]),
    ("trace", &["diag", "geom", "units"]),
    ("art", &["diag", "geom", "trace", "units"]),
    ("drawing", &["art", "diag", "face", "geom", "trace", "units"]),
    ("interpret", &["art", "diag", "geom", "units"]),
    ("fit", &["diag", "face", "geom", "interpret", "units"]),
    ("check", &["diag", "face", "geom", "trade", "units"]),
    ("entry", &["diag", "face", "geom", "trade", "units"]),
    ("order", &["check", "diag", "entry", "face", "geom", "trade", "units"]),
    ("mend", &["check", "diag", "entry", "face", "geom", "trade", "units"]),
    ("outcome", &["check", "diag", "entry", "face", "order", "units"]),
    ("sheet", &["check", "diag", "entry", "face", "font", "geom", "order", "outcome", "trade", "units"]),
    ("boxes", &["diag", "geom", "settings", "sheet", "trade", "units"]),
    ("survey", &["check", "diag", "face", "font", "geom", "outcome", "sheet", "units"]),
    (
        "write",
        &["check", "diag", "entry", "face", "font", "geom", "mend", "order", "outcome", "sheet", "survey", "units"],
    ),
    (
        "pipeline",
        &[
            "art",
            "boxes",
            "check",
            "diag",
            "drawing",
            "entry",
            "face",
            "fit",
            "font",
            "geom",
            "interpret",
            "mend",
            "order",
            "outcome",
            "settings",
            "sheet",
            "survey",
            "trace",
            "trade",
            "units",
            "write",
        ],
    ),
    ("project", &["diag", "mend", "pipeline", "settings", "units"]),
];

/// The program's edge, where files, clock, environment and printing may be used
/// and everything may be imported.
const EDGE: &[&str] = &["cli", "edge", "web", "main", "lib"];

/// Libraries that only the named files or folders may use.
const ONLY_IN: &[(&str, &[&str])] = &[
    ("linesweeper", &["src/geom/boolean.rs"]),
    ("i_overlay", &["src/geom/boolean.rs", "src/geom/offset.rs"]),
    ("usvg", &["src/art/", "src/write/", "src/font.rs"]),
    ("resvg", &["src/write/", "src/font.rs"]),
    ("printpdf", &["src/write/pdf"]),
    ("lopdf", &["src/write/pdf"]),
    ("clap", &["src/cli/", "src/main.rs"]),
    ("httparse", &["src/web/"]),
    ("getrandom", &["src/web/"]),
    ("sha2", &["src/survey/memory.rs"]),
    ("base64", &["src/project.rs"]),
];

/// What only the edge may touch.
const EDGE_ONLY: &[&str] = &["std::fs", "std::env", "std::time", "std::net", "SystemTime", "println!", "eprintln!"];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ext| ext == "rs") {
            found.push(path);
        }
    }
}

/// Every source file: its path from the root with `/`, its module, its text
/// without comments and without the tests at its end.
fn files() -> Vec<(String, String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    sources(&root.join("src"), &mut paths);
    paths.retain(|path| !path.ends_with("tests.rs") && !path.iter().any(|part| part == "tests"));
    paths.iter().map(|path| read(root, path)).collect()
}

fn read(root: &Path, path: &Path) -> (String, String, String) {
    let name = path.strip_prefix(root).unwrap().to_string_lossy().replace('\\', "/");
    let module = name.trim_start_matches("src/").split(['/', '.']).next().unwrap().to_owned();
    let text = fs::read_to_string(path).unwrap();
    (name, module, code(&text))
}

/// `text` without comments and without the tests written in it. Tests in a file of
/// their own are but a line, after which the code goes on.
fn code(text: &str) -> String {
    let bare = text.lines().map(|line| line.split("//").next().unwrap().trim_end()).collect::<Vec<_>>().join("\n");
    bare.split("#[cfg(test)]\nmod tests {").next().unwrap().to_owned()
}

/// The crate's modules named after `crate::` in `code`, in braces, too, also nested
/// ones.
fn imports(code: &str) -> BTreeSet<String> {
    let word = |text: &str| text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut found = BTreeSet::new();
    for rest in code.split("crate::").skip(1) {
        match rest.strip_prefix('{') {
            Some(group) => found.extend(members(group).iter().map(|part| word(part.trim())).filter(|w| !w.is_empty())),
            None => drop(found.insert(word(rest))),
        }
    }
    found
}

/// The members of a group of imports, up to its closing brace.
fn members(group: &str) -> Vec<String> {
    let (mut depth, mut found) = (0_i32, vec![String::new()]);
    for c in group.chars() {
        depth += i32::from(c == '{') - i32::from(c == '}');
        match c {
            _ if depth < 0 => break,
            ',' if depth == 0 => found.push(String::new()),
            _ => found.last_mut().unwrap().push(c),
        }
    }
    found
}

/// Whether a file of `module` may name `import`: names that are no module of ours are
/// macros and the like.
fn may_import(module: &str, allowed: &[&str], import: &str) -> bool {
    let ours = EDGE.contains(&import) || MAY_IMPORT.iter().any(|(m, _)| *m == import);
    !ours || import == module || allowed.contains(&import)
}

#[test]
fn stages_import_only_what_stands_to_their_left() {
    let mut wrong = Vec::new();
    for (name, module, code) in files() {
        if EDGE.contains(&module.as_str()) {
            continue;
        }
        let Some((_, allowed)) = MAY_IMPORT.iter().find(|(m, _)| *m == module) else {
            wrong.push(format!("{name}: module `{module}` is not in the table"));
            continue;
        };
        let imports = imports(&code);
        let forbidden = imports.iter().filter(|import| !may_import(&module, allowed, import));
        wrong.extend(forbidden.map(|import| format!("{name} imports crate::{import}")));
    }
    assert!(wrong.is_empty(), "against the table:\n{}", wrong.join("\n"));
}

#[test]
fn what_is_forbidden_is_seen() {
    let seen = |text: &str| imports(&code(text)).into_iter().collect::<Vec<_>>();
    let after_tests = "#[cfg(test)]\nmod tests;\nuse crate::write;\n#[cfg(test)]\nmod tests { use crate::cli; }";
    assert_eq!(seen(after_tests), ["write"], "what follows the name of a file of tests");
    let nested = "use crate::{\n    web::{store, api},\n    edge::write,\n    cli,\n}; // crate::trade";
    assert_eq!(seen(nested), ["cli", "edge", "web"], "every member of a group");
    assert!(!may_import("geom", &["units"], "edge") && !may_import("geom", &["units"], "pipeline"), "both forbidden");
    assert!(may_import("geom", &["units"], "units") && may_import("geom", &["units"], "counted"), "allowed, no module");
}

#[test]
fn the_table_runs_one_way() {
    for (place, (module, allowed)) in MAY_IMPORT.iter().enumerate() {
        for import in *allowed {
            let stands = MAY_IMPORT.iter().position(|(m, _)| m == import);
            assert!(stands.is_some_and(|s| s < place), "{module} may import {import}, which stands to its right");
        }
    }
}

#[test]
fn only_the_edge_touches_files_clock_environment_and_printing() {
    let mut wrong = Vec::new();
    for (name, module, code) in files() {
        if !EDGE.contains(&module.as_str()) {
            wrong.extend(EDGE_ONLY.iter().filter(|word| code.contains(*word)).map(|word| format!("{name}: {word}")));
        }
    }
    assert!(wrong.is_empty(), "outside the edge:\n{}", wrong.join("\n"));
}

#[test]
fn each_outside_library_is_known_to_its_own_files_only() {
    let mut wrong = Vec::new();
    for (name, _, code) in files() {
        for (library, places) in ONLY_IN {
            let used = code.contains(&format!("{library}::")) || code.contains(&format!("use {library}"));
            if used && !places.iter().any(|place| name.starts_with(place)) {
                wrong.push(format!("{name} uses {library}"));
            }
        }
    }
    assert!(wrong.is_empty(), "libraries out of place:\n{}", wrong.join("\n"));
}
