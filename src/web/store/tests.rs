use super::*;
use crate::settings::Length;

fn store() -> (tempfile::TempDir, Store) {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::new(folder.path().to_owned());
    (folder, store)
}

fn art(name: &str) -> Art {
    Art { name: name.to_owned(), bytes: b"<svg/>".to_vec() }
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

#[test]
fn a_drawing_finds_its_project_and_brings_it_up_to_date() {
    let (_folder, store) = store();
    let start = store.adopt(art("owl.svg"), Shop::default(), true).unwrap();
    store.change("owl", 1, wide(&start.state, "6in"), false).unwrap();
    let again = store.adopt(art("owl.svg"), Shop::default(), true).unwrap();
    assert_eq!((again.name.as_str(), again.revision, width(&again).as_str()), ("owl", 2, "6in"), "the same");
    let redrawn = Art { bytes: b"<svg><g/></svg>".to_vec(), ..art("owl.svg") };
    let newer = store.adopt(redrawn.clone(), Shop::default(), true).unwrap();
    assert_eq!((*newer.state.art == redrawn, width(&newer).as_str(), newer.revision), (true, "6in", 3), "redrawn");
    assert_eq!(store.adopt(art("owl.png"), Shop::default(), true).unwrap().name, "owl-2", "another drawing");
    let other = store.adopt(art("owl.svg"), Shop::default(), false).unwrap();
    assert_eq!(other.name, "owl-3", "one of the same name from somewhere else");
}

#[test]
fn names_never_lead_out_of_the_folder() {
    let (folder, store) = store();
    for name in ["../owl", "a/b", "a\\b", "..", ".hidden", "", " a", "a\0b", "C:x", &"n".repeat(61)] {
        assert_eq!(store.open(name).unwrap_err(), Refusal::Unknown, "{name:?}");
    }
    for (from, to) in [
        ("../../etc/passwd.svg", "passwd"),
        ("owl.svg", "owl"),
        ("owl.svg", "owl-2"),
        ("...", "face"),
        ("C:\\art\\Grüner Fuchs.svg", "Grüner Fuchs"),
    ] {
        assert_eq!(store.create(art(from), Shop::default()).unwrap().name, to, "{from}");
    }
    assert_eq!(store.names(), ["Grüner Fuchs", "face", "owl", "owl-2", "passwd"], "listed");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 5, "all in the folder");
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
