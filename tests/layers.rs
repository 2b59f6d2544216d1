//! Who may know whom: arrows between the layers point down only, and the core of the screen knows no page.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

/// The layers, the lowest first. Each may use itself and those before it; the two faces use each other nowhere but where the
/// full screen is opened.
const LAYERS: [&str; 13] = [
    "units",
    "spreadsheet",
    "reckon",
    "cellar",
    "import",
    "log",
    "desk",
    "told",
    "forms",
    "intake",
    "sheets",
    "tui",
    "cli",
];

/// What a layer may not use though it lies below: sheets are made of what the cellar says, and know no file, nor does what is told; the log holds no
/// computation, and neither it nor the desk knows where facts come from; a spreadsheet is a table of anything.
const APART: [(&str, &str); 11] = [
    ("forms", "log"),
    ("forms", "desk"),
    ("sheets", "log"),
    ("sheets", "desk"),
    ("told", "log"),
    ("told", "desk"),
    ("log", "reckon"),
    ("log", "units"),
    ("log", "import"),
    ("desk", "import"),
    ("spreadsheet", "units"),
];

/// What of the screen its core may use: itself, and what the terminal at the edge is told.
const OF_THE_CORE: [&str; 2] = ["core", "edge"];

/// The lists of the cellar's core: what a state keeps, what can happen, what can be said of it. They name what the jobs made; the
/// rest of the core knows no job.
const LISTS: [&str; 10] = [
    "book.rs",
    "doing.rs",
    "fact.rs",
    "history.rs",
    "near.rs",
    "plausible.rs",
    "question.rs",
    "refusal.rs",
    "state.rs",
    "wine.rs",
];

/// All source files of a folder, and the file of the same name beside it.
fn files(folder: &str) -> Vec<PathBuf> {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files: Vec<PathBuf> =
        [source.join(format!("{folder}.rs"))].into_iter().filter(|file| file.exists()).collect();
    let mut folders = vec![source.join(folder)];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                files.push(path);
            }
        }
    }
    assert!(!files.is_empty(), "{folder} holds no source");
    files
}

/// What follows a path in the code of a file, like `model` after `crate::tui::`; comments tell of whatever they like.
fn named_after(file: &Path, path: &str) -> Vec<String> {
    let text = fs::read_to_string(file).unwrap();
    // Tests at the end of a file use what they like, as those of the folder do.
    let code = text.split("#[cfg(test)]\nmod tests").next().unwrap();
    let code = code.lines().filter(|line| !line.trim_start().starts_with("//"));
    let names = code.flat_map(|line| line.split(path).skip(1).collect::<Vec<_>>());
    let word = |rest: &str| rest.split(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap().to_owned();
    // `{self, a, b}` names several; of them the words count.
    let words = |rest: &str| match rest.strip_prefix('{') {
        Some(list) => list.split(['}', ';']).next().unwrap().split(',').map(|name| word(name.trim())).collect(),
        None => vec![word(rest)],
    };
    names.flat_map(words).filter(|name| !name.is_empty() && name != "self").collect()
}

#[test]
fn arrows_between_the_layers_point_down_only() {
    for (at, layer) in LAYERS.iter().enumerate() {
        for file in files(layer) {
            for used in named_after(&file, "crate::") {
                let Some(place) = LAYERS.iter().position(|it| *it == used) else { continue };
                assert!(place <= at, "{} uses {used}, which lies above {layer}", file.display());
                assert!(!APART.contains(&(*layer, used.as_str())), "{} uses {used}", file.display());
            }
        }
    }
}

#[test]
fn only_the_opening_of_the_full_screen_and_the_list_of_its_keys_know_it_from_the_desk() {
    for file in files("cli") {
        let may =
            ["full_screen.rs", "arguments/core/screen.rs", "cli/guide.rs"].iter().any(|name| file.ends_with(name));
        assert!(may || !named_after(&file, "crate::").contains(&"tui".to_owned()), "{}", file.display());
    }
}

#[test]
fn the_core_of_the_screen_knows_no_page() {
    for file in files("tui/core") {
        for used in named_after(&file, "crate::tui::") {
            assert!(OF_THE_CORE.contains(&used.as_str()), "{} uses {used}", file.display());
        }
    }
}

/// A page may lend the model a word of its own (`impl Model`); the core may not take it.
#[test]
fn the_core_of_the_screen_calls_nothing_that_a_page_lends_the_model() {
    let core: Vec<PathBuf> = OF_THE_CORE.iter().flat_map(|folder| files(&format!("tui/{folder}"))).collect();
    let pages: Vec<PathBuf> = files("tui").into_iter().filter(|file| !core.contains(file)).collect();
    let mut lent = Vec::new();
    for page in &pages {
        let text = fs::read_to_string(page).unwrap();
        for block in text.split("\nimpl Model {\n").skip(1) {
            let block = block.split("\n}\n").next().unwrap();
            let names = block.lines().filter_map(|line| line.strip_prefix("    ")?.split("fn ").nth(1));
            lent.extend(names.map(|name| name.split('(').next().unwrap().to_owned()));
        }
    }
    assert!(lent.len() > 20, "{lent:?}");
    for file in core {
        let text = fs::read_to_string(&file).unwrap();
        for name in &lent {
            let of = ["self.", "model.", "Model::"].map(|of| format!("{of}{name}"));
            let calls = of.iter().any(|call| text.contains(&format!("{call}(")) || text.contains(&format!("{call},")));
            assert!(!calls, "{} calls {name}, which a page lends the model", file.display());
        }
    }
}

#[test]
fn the_core_of_the_cellar_knows_its_jobs_by_its_lists_only() {
    for file in files("cellar/core") {
        let is_list = LISTS.iter().any(|list| file.ends_with(format!("core/{list}")));
        assert!(is_list || named_after(&file, "crate::cellar::jobs::").is_empty(), "{} names a job", file.display());
        // What is asked tells what a view saw.
        let asks = file.ends_with("core/question.rs");
        assert!(asks || named_after(&file, "crate::cellar::views::").is_empty(), "{} names a view", file.display());
    }
}

#[test]
fn a_job_of_the_cellar_knows_no_view() {
    for file in files("cellar/jobs") {
        assert!(named_after(&file, "crate::cellar::views::").is_empty(), "{} names a view", file.display());
    }
}

#[test]
fn one_and_several_are_told_apart_in_the_units_only() {
    for layer in LAYERS.into_iter().filter(|layer| *layer != "units") {
        for file in files(layer) {
            let text = fs::read_to_string(&file).unwrap();
            let code = text.split("#[cfg(test)]\nmod tests").next().unwrap().lines();
            for line in code.filter(|line| !line.trim_start().starts_with("//")) {
                let own = [r#""" } else { "s" }"#, r#"1 => "1 "#, r#"== 1 { "1 "#, r"== 1 { ("]
                    .iter()
                    .any(|it| line.contains(it));
                assert!(!own, "{} has a plural of its own: {line}", file.display());
            }
        }
    }
}

#[test]
fn no_source_file_is_longer_than_is_read_at_once() {
    for layer in LAYERS {
        for file in files(layer) {
            let lines = fs::read_to_string(&file).unwrap().lines().count();
            assert!(lines <= 600, "{} has {lines} lines", file.display());
        }
    }
}
