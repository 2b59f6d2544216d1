//! The program is killed in the midst of a walk, and something else comes to stand where its file stood: each is said, and nothing of it is
//! mixed with what the program left.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use rustix::process::Signal;

use super::{Cellar, done, press_until_done};

/// What a killed program left of a cellar, and what may be put in its place.
struct Killed {
    cellar: Cellar,
    left: Vec<(&'static str, Vec<u8>)>,
}

impl Killed {
    fn new() -> Killed {
        let cellar = Cellar::left_demo();
        cellar.told(&["backup", &cellar.beside("older")]);
        let mut pty = cellar.open(&[]);
        let begun = done(&pty);
        press_until_done(&mut pty, " ", begun + 1);
        press_until_done(&mut pty, " ", begun + 2);
        pty.signal(Signal::KILL);
        pty.wait_for_end();
        let read = |ending| (ending, fs::read(cellar.with(ending)).unwrap());
        let left = ["", "-wal", "-mark"].map(read).to_vec();
        cellar.told(&["backup", &cellar.beside("newer")]);
        cellar.told(&["new", &cellar.beside("another")]);
        Killed { cellar, left }
    }

    /// Has the folder as it was left, changes it, and gives what a command that reads it says.
    fn says(&self, change: impl FnOnce(&Cellar, &Path), code: i32, words: &[&str]) {
        for ending in ["", "-wal", "-shm", "-mark", "-snapshot"] {
            let _ = fs::remove_file(self.cellar.with(ending));
        }
        for (ending, bytes) in &self.left {
            fs::write(self.cellar.with(ending), bytes).unwrap();
        }
        change(&self.cellar, &self.cellar.with(""));
        let Output { status, stderr, .. } = self.cellar.run(&["list", "rooms"]);
        let said = String::from_utf8(stderr).unwrap();
        assert_eq!(status.code(), Some(code), "{said}");
        assert!(words.iter().all(|word| said.contains(word)), "{words:?} in: {said}");
    }
}

impl Cellar {
    fn with(&self, ending: &str) -> PathBuf {
        PathBuf::from(format!("{}{ending}", self.file()))
    }

    fn beside(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    fn told(&self, words: &[&str]) {
        let output = self.run(words);
        assert!(output.status.success(), "{output:?}");
    }

    /// Puts a copy of another file in its place, as folder syncing does.
    fn replace_by(&self, name: &str) {
        fs::copy(self.beside(name), self.beside("coming")).unwrap();
        fs::rename(self.beside("coming"), self.with("")).unwrap();
    }
}

#[test]
fn whatever_stands_where_a_killed_program_had_its_file_is_said() {
    let killed = Killed::new();
    killed.says(|_, _| {}, 0, &[]);
    killed.says(|cellar, _| cellar.replace_by("newer"), 0, &["was left by an earlier file that stood here", "keep it"]);
    killed.says(|cellar, _| cellar.replace_by("older"), 0, &["was left by an earlier file that stood here", "missing"]);
    let without_its_log = |cellar: &Cellar, _: &Path| {
        fs::remove_file(cellar.with("-wal")).unwrap();
        cellar.replace_by("older");
    };
    killed.says(without_its_log, 0, &["are missing"]);
    let another = ["was left by an earlier file that stood here", "belongs to another cellar"];
    killed.says(|cellar, _| cellar.replace_by("another"), 0, &another);
    let pipe = |_: &Cellar, file: &Path| {
        fs::remove_file(file).unwrap();
        assert!(Command::new("mkfifo").arg(file).status().unwrap().success());
    };
    killed.says(pipe, 1, &["is not a cellar. It was left as it is."]);
    let link = |cellar: &Cellar, file: &Path| {
        fs::rename(file, cellar.beside("moved")).unwrap();
        std::os::unix::fs::symlink(cellar.beside("moved"), file).unwrap();
    };
    killed.says(link, 1, &["stands beside a link to", "holds the newest facts"]);
    let no_mark = |cellar: &Cellar, _: &Path| fs::remove_file(cellar.with("-mark")).unwrap();
    killed.says(no_mark, 0, &["which watches over the newest facts, is gone"]);
}
