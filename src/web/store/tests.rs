use super::*;
use crate::settings::Length;

fn store() -> (tempfile::TempDir, Store) {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::new(folder.path().to_owned());
    (folder, store)
}

fn art(name: &str) -> Art {
    Art { name: name.to_owned(), bytes: b"<svg/>".to_vec(), from: None }
}

fn wide(state: &State, width: &str) -> Change {
    let mut state = state.clone();
    state.shop.panel.width = Length::text(width);
    Change::To(Box::new(state))
}

fn width(snapshot: &Snapshot) -> String {
    snapshot.state.shop.panel.width.to_string()
}

#[test]
fn every_change_is_on_disk_at_once() {
    let (folder, store) = store();
    let first = store.create(art("owl.svg"), Shop::default()).unwrap();
    assert_eq!((first.name.as_str(), first.revision, first.undo), ("owl", 1, false), "new");
    store.change("owl", 1, wide(&first.state, "6in"), false).unwrap();
    let again = Store::new(folder.path().to_owned()).open("owl").unwrap();
    assert_eq!((again.revision, width(&again).as_str()), (2, "6in"), "as another run finds it");
    let left: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(left, ["owl.fretgrin.toml"], "nothing else is left");
}

#[test]
fn undo_and_redo_walk_the_states() {
    let (_folder, store) = store();
    let start = store.create(art("owl.svg"), Shop::default()).unwrap();
    let mut revision = start.revision;
    for size in ["6in", "7in"] {
        revision = store.change("owl", revision, wide(&start.state, size), false).unwrap().revision;
    }
    let back = store.change("owl", revision, Change::Undo, false).unwrap();
    assert_eq!((width(&back).as_str(), back.undo, back.redo), ("6in", true, true), "back");
    let forward = store.change("owl", back.revision, Change::Redo, false).unwrap();
    assert_eq!((width(&forward).as_str(), forward.redo), ("7in", false), "forward");
    let back = store.change("owl", forward.revision, Change::Undo, false).unwrap();
    let other = store.change("owl", back.revision, wide(&start.state, "8in"), false).unwrap();
    assert!(!other.redo, "a new change leaves nothing to redo");
}

#[test]
fn a_change_on_an_old_revision_is_a_conflict() {
    let (_folder, store) = store();
    let start = store.create(art("owl.svg"), Shop::default()).unwrap();
    store.change("owl", 1, wide(&start.state, "6in"), false).unwrap();
    let late = store.change("owl", 1, wide(&start.state, "7in"), false);
    assert_eq!(late.unwrap_err(), Refusal::Tab, "the second tab");
    assert_eq!(width(&store.open("owl").unwrap()), "6in", "the first stands");
    let forced = store.change("owl", 1, wide(&start.state, "7in"), true).unwrap();
    assert_eq!((width(&forced).as_str(), forced.revision), ("7in", 3), "on purpose");
    let undone = store.change("owl", 3, Change::Undo, false).unwrap();
    assert_eq!(width(&undone), "6in", "and what it replaced can be had back");
}

#[test]
fn a_file_changed_by_somebody_else_is_a_conflict() {
    let (folder, store) = store();
    let start = store.create(art("owl.svg"), Shop::default()).unwrap();
    let other = Store::new(folder.path().to_owned());
    let theirs = other.change("owl", 1, wide(&start.state, "9in"), false).unwrap();
    let mine = store.change("owl", 1, wide(&start.state, "6in"), false);
    assert_eq!(mine.unwrap_err(), Refusal::File, "shown");
    let read = store.reload("owl").unwrap();
    assert_eq!((width(&read), read.revision), ("9in".to_owned(), theirs.revision), "theirs");
}

/// A drawing that stands in a file.
fn drawn(folder: &Path, file: &str, text: &str) -> Art {
    let path = folder.join(file);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(&path, text).unwrap();
    let name = path.file_name().unwrap().to_str().unwrap().to_owned();
    Art { name, bytes: text.into(), from: path.to_str().map(str::to_owned) }
}

#[test]
fn a_drawing_finds_its_project_and_brings_it_up_to_date() {
    let (folder, store) = store();
    let adopt = |art: Art, renew| store.adopt(art, Shop::default(), renew).unwrap();
    let owl = |text: &str| drawn(folder.path(), "art/owl.svg", text);
    let start = adopt(owl("<svg/>"), true);
    store.change("owl", 1, wide(&start.state, "6in"), false).unwrap();
    let again = adopt(owl("<svg/>"), true);
    assert_eq!((again.name.as_str(), again.revision, width(&again).as_str()), ("owl", 2, "6in"), "the same");
    let newer = adopt(owl("<svg><g/></svg>"), true);
    assert_eq!((width(&newer).as_str(), newer.revision), ("6in", 3), "redrawn");
    assert_eq!(newer.state.art.bytes, b"<svg><g/></svg>", "redrawn");
    assert_eq!(adopt(art("owl.png"), true).name, "owl-2", "another drawing");
    assert_eq!(adopt(Art { bytes: b"<g/>".to_vec(), ..art("owl.svg") }, true).name, "owl-3", "from who knows where");
    assert_eq!(adopt(owl("<svg><a/></svg>"), false).name, "owl-4", "not to be renewed");
}

#[test]
fn a_drawing_of_the_same_name_from_elsewhere_leaves_a_project_alone() {
    let (folder, store) = store();
    let adopt = |file: &str, text: &str| {
        let art = drawn(folder.path(), file, text);
        Store::new(folder.path().to_owned()).adopt(art, Shop::default(), true).unwrap()
    };
    assert_eq!(adopt("a/face.svg", "<svg/>").name, "face", "the first");
    let kept = fs::read(folder.path().join("face.fretgrin.toml")).unwrap();
    for (file, text, name) in [
        ("b/face.svg", "<svg><g/></svg>", "face-2"),
        ("b/face.svg", "<svg><a/></svg>", "face-2"),
        ("a/face.svg", "<svg/>", "face"),
    ] {
        assert_eq!(adopt(file, text).name, name, "{file} {text}");
        assert_eq!(fs::read(folder.path().join("face.fretgrin.toml")).unwrap(), kept, "the first is untouched");
    }
    // A project made before sources were remembered might be anybody's.
    let old = Project::read(std::str::from_utf8(&kept).unwrap(), "").unwrap();
    fs::write(folder.path().join("face.fretgrin.toml"), Project { from: None, ..old }.text().unwrap()).unwrap();
    assert_eq!(adopt("a/face.svg", "<svg/>").name, "face", "it holds this very drawing");
    assert_eq!(adopt("a/face.svg", "<svg><b/></svg>").name, "face-3", "another one: kept apart");
    assert_eq!(store.open("face").unwrap().state.art.bytes, b"<svg/>", "untouched");
}

#[test]
fn where_a_drawing_stands_is_remembered_with_the_next_change() {
    let (folder, store) = store();
    store.create(art("owl.svg"), Shop::default()).unwrap();
    let found = store.adopt(drawn(folder.path(), "art/owl.svg", "<svg/>"), Shop::default(), true).unwrap();
    let file = || fs::read_to_string(folder.path().join("owl.fretgrin.toml")).unwrap();
    assert!((found.revision, file().contains("from =")) == (1, false), "looking writes nothing");
    store.change("owl", 1, wide(&found.state, "6in"), false).unwrap();
    assert!(file().contains("from = \"art/owl.svg\""), "{}", file());
    let moved = store.adopt(drawn(folder.path(), "new/owl.svg", "<svg/>"), Shop::default(), true).unwrap();
    store.change("owl", 2, wide(&moved.state, "7in"), false).unwrap();
    assert!(file().contains("from = \"new/owl.svg\""), "moved: {}", file());
}

#[test]
fn a_drawing_finds_its_project_among_numbered_ones_at_every_start() {
    let (folder, _) = store();
    for turn in 0..3 {
        let store = Store::new(folder.path().to_owned());
        for (file, name) in [("face.v1.svg", "face"), ("face.v2.svg", "face-2")] {
            let found = store.adopt(drawn(folder.path(), file, file), Shop::default(), true).unwrap();
            assert_eq!(found.name, name, "{file}, start {turn}");
        }
    }
    assert_eq!(Store::new(folder.path().to_owned()).names(), ["face", "face-2"], "no more");
}

#[test]
fn whatever_a_file_manager_calls_a_project_it_opens() {
    let (folder, store) = store();
    store.create(art("face.svg"), Shop::default()).unwrap();
    for name in ["face.old", "face (copy)", "Max & Moritz, 2", "face..2"] {
        fs::copy(folder.path().join(file_name("face")), folder.path().join(file_name(name))).unwrap();
        assert_eq!(store.open(name).unwrap().name, name, "opens");
        assert!(store.names().iter().any(|known| known == name), "{name} is listed");
    }
}

#[test]
fn a_project_that_could_not_be_read_again_is_not_written() {
    let (folder, store) = store();
    // In base64 a third longer than the largest project.
    let large = Art { bytes: vec![0; 24 << 20], ..art("owl.svg") };
    let Err(Refusal::Failed(error)) = store.create(large, Shop::default()) else { panic!("refused") };
    assert!(error.to_string().contains("24.0 MB"), "{error}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "nothing is left");
}

#[test]
fn names_never_lead_out_of_the_folder() {
    let (folder, store) = store();
    for name in ["../owl", "a/b", "a\\b", "..", ".hidden", "", " a", "a\0b", "C:x", &"n".repeat(241)] {
        assert_eq!(store.open(name).unwrap_err(), Refusal::Unknown, "{name:?}");
    }
    for (from, to) in [
        ("../../etc/passwd.svg", "passwd"),
        ("owl.svg", "owl"),
        ("owl.svg", "owl-2"),
        ("...", "face"),
        ("-", "face-2"),
        ("C:\\art\\Grüner Fuchs.svg", "Grüner Fuchs"),
    ] {
        assert_eq!(store.create(art(from), Shop::default()).unwrap().name, to, "{from}");
    }
    assert_eq!(store.names(), ["Grüner Fuchs", "face", "face-2", "owl", "owl-2", "passwd"], "listed");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 6, "all in the folder");
}

#[test]
fn memory_holds_a_bounded_number_of_projects() {
    let (_folder, store) = store();
    for i in 0..OPEN + 5 {
        store.create(art(&format!("f{i}.svg")), Shop::default()).unwrap();
    }
    assert_eq!(lock(&store.docs).open.len(), OPEN, "in memory");
    assert_eq!(store.open("f0").unwrap().revision, 1, "the first is read again");
}

#[test]
fn a_project_somebody_is_at_is_never_there_twice() {
    let (_folder, store) = store();
    store.create(art("owl.svg"), Shop::default()).unwrap();
    let held = store.doc("owl").unwrap();
    store.reload("owl").unwrap();
    assert!(Arc::ptr_eq(&held, &store.doc("owl").unwrap()), "read again in its place");
    for i in 0..OPEN + 5 {
        store.create(art(&format!("f{i}.svg")), Shop::default()).unwrap();
    }
    assert!(Arc::ptr_eq(&held, &store.doc("owl").unwrap()), "not put away under its holder");
}

#[test]
fn undo_is_bounded() {
    let (_folder, store) = store();
    let start = store.create(art("owl.svg"), Shop::default()).unwrap();
    let doc = store.doc("owl").unwrap();
    let mut doc = lock(&doc);
    for _ in 0..UNDO + 10 {
        (doc.states, doc.at) = doc.after(Change::To(Box::new((*start.state).clone())));
    }
    assert_eq!((doc.states.len(), doc.at), (UNDO, UNDO - 1), "states");
}
