//! Small projects, tidy and not: each fault is put in and must be found with the words that help.

use std::fs;

use super::files::{self, File};
use super::{arrows, circles, code_map, findings, imports, modules, rooms, wording};

fn file(path: &str, text: &str) -> File {
    File {
        path: path.to_owned(),
        text: text.to_owned(),
    }
}

fn project(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    folder
}

/// Findings in a crate `a/src` of these files.
fn in_crate(rooms_table: &'static str, sources: &[(&str, &str)]) -> Vec<String> {
    let files: Vec<File> = sources
        .iter()
        .map(|(path, text)| file(&format!("a/src/{path}"), text))
        .collect();
    let krate = arrows::Crate {
        folder: "a/src",
        rooms: rooms_table,
    };
    let imports = imports::of(&modules::tree(&files, krate.folder).unwrap());
    let mut all = circles::findings(&imports);
    all.extend(rooms::findings(&krate, &files, &imports));
    all
}

#[track_caller]
fn names(all: &[String], parts: &[&str]) {
    assert_eq!(all.len(), 1, "{all:#?}");
    for part in parts {
        assert!(all[0].contains(part), "{part:?} is not in {}", all[0]);
    }
}

const FLAT: &str = "pub mod low; pub mod high;";

#[test]
fn a_circle_is_found_and_named() {
    let faults = in_crate(
        "",
        &[
            ("lib.rs", FLAT),
            ("low.rs", "use super::high::TOP;\npub const LOW: u8 = TOP;"),
            (
                "high.rs",
                "\npub const TOP: u8 = 1;\nfn f() { crate::low::LOW; }",
            ),
        ],
    );
    names(
        &faults,
        &[
            "circle: ",
            "a/src/high.rs:3 uses `crate::low::LOW` of a/src/low.rs",
            "a/src/low.rs:1 uses `super::high::TOP` of a/src/high.rs",
            "move what both need",
        ],
    );
}

#[test]
fn every_way_to_name_an_item_is_an_import() {
    let ways = [
        "use crate::high::Top; fn f(_: Top) {}",
        "use crate::{high::{Top as T}}; fn f(_: T) {}",
        "use crate::high; fn f(_: high::Top) {}",
        "use crate::high::*; fn f(_: Top) {}",
        "fn f(_: super::high::Top) {}",
        "fn f() { println!(\"{}\", crate::high::Top::new()) }",
        "fn f() { use crate::high::Top; }",
        "impl crate::high::Loud for Low {}",
        "use crate::handed_on::Top; fn f(_: Top) {}",
        "#[arg(value_parser = crate::high::parse)] struct Options;",
        "mod inner { use super::super::high::Top; }",
    ];
    for way in ways {
        let low = format!("pub struct Low; {way}");
        let faults = in_crate(
            "",
            &[
                ("lib.rs", "pub mod low; pub mod high; pub mod handed_on;"),
                ("low.rs", &low),
                ("handed_on.rs", "pub use crate::high::Top;"),
                (
                    "high.rs",
                    "use crate::low::Low; pub struct Top(Low); pub trait Loud {} pub fn parse() {}",
                ),
            ],
        );
        assert_eq!(faults.len(), 1, "{way}: {faults:#?}");
    }
}

#[test]
fn what_is_no_import_makes_no_circle() {
    let harmless = [
        "",
        "#[cfg(test)] mod tests { use crate::high::Top; }",
        "#[cfg(test)] use crate::high::Top;",
        "use crate::high;",
        "use std::high::Top; fn high() {} fn f() { high() }",
        "use one::*; use two::*; use three::*; use four::*; fn f(_: Top) {}",
        "pub(in crate::high) fn f() {}",
        "// use crate::high::Top;\nfn f() { \"crate::high::Top\"; }",
    ];
    for text in harmless {
        let low = format!("pub struct Low; {text}");
        let faults = in_crate(
            "",
            &[
                ("lib.rs", FLAT),
                ("low.rs", &low),
                ("high.rs", "use crate::low::Low; pub struct Top(Low);"),
            ],
        );
        assert!(faults.is_empty(), "{text}: {faults:#?}");
    }
}

#[test]
fn an_entrance_that_hands_on_is_no_circle_and_one_with_a_body_is() {
    let child = "use super::Scale; pub struct Child(Scale);";
    let scale = ("room/scale.rs", "pub struct Scale;");
    let root = ("lib.rs", "pub mod room;");
    let hands_on = "mod child; mod scale; pub use child::Child; pub use scale::Scale;";
    let has_body = "mod child; pub struct Scale; fn f() { child::Child; }";
    let fine = in_crate(
        "",
        &[
            root,
            scale,
            ("room/mod.rs", hands_on),
            ("room/child.rs", child),
        ],
    );
    assert!(fine.is_empty(), "{fine:#?}");
    let faults = in_crate(
        "",
        &[root, ("room/mod.rs", has_body), ("room/child.rs", child)],
    );
    names(&faults, &["a/src/room/child.rs:1", "a/src/room/mod.rs:1"]);
}

const ROOMS: &str = "
low:
middle/front: low
middle: low middle/front
high: *
lib:
";

const HOUSE: [(&str, &str); 6] = [
    ("lib.rs", "pub mod low; pub mod middle; pub mod high;"),
    ("low/mod.rs", "mod sine; pub use sine::Sine;"),
    ("low/sine.rs", "pub struct Sine;"),
    (
        "middle/mod.rs",
        "mod front; pub use front::Front; fn f(_: Front) {}",
    ),
    (
        "middle/front.rs",
        "use crate::low::Sine; pub struct Front(Sine);",
    ),
    (
        "high.rs",
        "pub fn f(_: crate::middle::Front, _: crate::low::Sine) {}",
    ),
];

#[test]
fn arrows_that_point_down_are_allowed() {
    let faults = in_crate(ROOMS, &HOUSE);
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn an_arrow_that_points_up_is_found_and_named() {
    let mut house = HOUSE.to_vec();
    house[2].1 = "\nuse crate::high::f;\npub struct Sine;";
    house[5].1 = "pub fn f() {}";
    names(
        &in_crate(ROOMS, &house),
        &[
            "a/src/low/sine.rs:2: an arrow that points up",
            "`crate::high::f` of a/src/high.rs",
            "`low` may use no other room",
            arrows::TABLES,
        ],
    );
}

#[test]
fn the_smallest_room_counts() {
    let mut house = HOUSE.to_vec();
    house[3].1 = "mod front; pub use front::Front; pub struct Wide;";
    house[4].1 = "pub struct Front(super::Wide);";
    names(
        &in_crate(ROOMS, &house),
        &["middle/front.rs:1", "`middle/front` may use low"],
    );
}

#[test]
fn a_file_without_a_room_and_a_table_out_of_order_are_found() {
    let stray = ("stray.rs", "pub struct Stray;");
    let mut house = HOUSE.to_vec();
    house[0].1 = "pub mod low; pub mod middle; pub mod high; mod stray;";
    house.push(stray);
    names(
        &in_crate(ROOMS, &house),
        &["a/src/stray.rs: stands in no room"],
    );
    let faults = in_crate("low: high\nhigh:\nlib:\nmiddle: low", &[("lib.rs", "")]);
    names(&faults, &["lets `low` use `high`", "no row above"]);
}

#[test]
fn a_crate_that_needs_one_above_it_is_found() {
    let core = "[package]\nname = \"plumbline-dsp\"\n[dependencies]\nrealfft = \"3\"\nserde = \"1\"\n\
                [dev-dependencies]\nfastrand = \"2\"\nxtask = { path = \"../../xtask\" }\n";
    let faults = super::crates::findings(&[file("plugin/dsp/Cargo.toml", core)]).join("\n");
    for part in ["points up: plumbline-dsp needs xtask", "needs serde"] {
        assert!(faults.contains(part), "{part:?} is not in {faults}");
    }
    assert!(!faults.contains("fastrand"), "{faults}");
}

#[test]
fn lengths_are_held() {
    let long_function = format!("//! One.\nfn long() {{\n{}}}\n", "    f();\n".repeat(60));
    let long_file = "//! Two.\n".to_owned() + &"// line\n".repeat(400);
    let guide = "word ".repeat(1501);
    let files = [
        file("a/src/one.rs", &long_function),
        file("a/src/two.rs", &long_file),
        file(wording::GUIDE, &guide),
    ];
    let mut all = super::sizes::findings(&files);
    all.extend(wording::findings(&files));
    assert_eq!(all.len(), 3, "{all:#?}");
    let all = all.join("\n");
    for part in [
        "one.rs:2: `long` has 62 lines",
        "two.rs: 401 lines",
        "1501 words",
    ] {
        assert!(all.contains(part), "{part:?} is not in {all}");
    }
}

const ENTRANCE: &str =
    "//! The shell.\n//!\n//! Promises this.\n//! Called by that.\n\npub const A: u8 = 1;\n";

#[test]
fn a_tidy_project_has_no_findings() {
    let folder = project(&[
        ("plugin/src/lib.rs", "//! The shell.\npub mod a;\n"),
        ("plugin/src/a/mod.rs", ENTRANCE),
        ("tests/hosted/main.rs", "//! All tests.\n"),
        ("plugin/benches/cost.rs", "//! What it costs.\n"),
        (".gitignore", "/target\n"),
    ]);
    code_map::write(folder.path(), &files::read(folder.path()).unwrap()).unwrap();
    let all = findings(folder.path()).unwrap();
    let all: Vec<_> = all.iter().filter(|one| !one.contains("no room")).collect();
    assert!(all.is_empty(), "{all:#?}");
    let map = fs::read_to_string(folder.path().join(code_map::PATH)).unwrap();
    assert!(
        map.contains("\n## plugin/src/a\n\n- `mod.rs`: The shell.\n"),
        "{map}"
    );
}

#[test]
fn each_fault_of_the_tree_is_found_and_named() {
    let undone = format!("//! Fine.\n// {}: later\n", wording::LEFT_UNDONE[0]);
    let folder = project(&[
        ("plugin/src/lib.rs", "pub mod a;\n"),
        ("plugin/src/a.rs", "//! A.\n"),
        ("plugin/src/b/c.rs", "//! C.\n"),
        ("plugin/src/d/mod.rs", "//! D.\n"),
        ("xtask/src/main.rs", &undone),
        ("notes.txt", ""),
        (code_map::PATH, "- `gone.rs`: Gone.\n"),
    ]);
    let all = findings(folder.path()).unwrap().join("\n");
    let wanted = [
        "notes.txt: the top",
        "lib.rs:1: the first",
        "main.rs:2: left undone",
        "plugin/src/b: no mod.rs",
        "plugin/src/d/mod.rs:1: an entrance says",
        "stale: - `gone.rs`",
        "lacks: - `a.rs`: A.",
    ];
    for part in wanted {
        assert!(all.contains(part), "{part:?} is not in\n{all}");
    }
}

#[test]
fn a_step_of_a_workflow_that_is_no_command_of_ours_is_found() {
    let commands = std::collections::BTreeSet::from(["test".to_owned(), "dist".to_owned()]);
    let text = "steps:\n  - run: cargo xtask test\n  - run: cargo xtask dist --check\n  - run: make\n  - run: cargo xtask pack\n";
    let findings = super::workflows::of_text("a.yml", text, &commands);
    assert_eq!(findings.len(), 2, "{findings:?}");
    assert!(findings[0].contains("a.yml:4") && findings[1].contains("a.yml:5"));
}

#[test]
fn a_link_that_leads_nowhere_is_found() {
    let place = tempfile::tempdir().expect("a folder");
    std::fs::create_dir_all(place.path().join("docs")).expect("a folder");
    std::fs::write(place.path().join("docs/a.md"), "").expect("a file");
    std::fs::write(place.path().join("docs/b.md"), "").expect("a file");
    let text = "# One two: three\n[x](#one-two-three) [x](b.md) [x](b.md#there) [x](#here) [x](c.md) ![x](c.png)";
    let documents = [file("docs/a.md", text), file("docs/b.md", "## There\n")];
    let findings = super::links::findings(place.path(), &documents);
    assert_eq!(findings.len(), 3, "{findings:?}");
}
