//! The built command, started in a folder.

#![allow(dead_code, reason = "each test file uses what it needs")]

use std::path::Path;
use std::process::{Command, Output};

/// The command with these words, not started yet.
pub(crate) fn command(dir: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_nde"));
    command.args(words).current_dir(dir);
    command
}

/// What it left behind, as bytes.
pub(crate) fn output(dir: &Path, words: &[&str]) -> Output {
    command(dir, words).output().expect("it starts")
}

/// Exit code, results, talk.
pub(crate) fn spoken(dir: &Path, words: &[&str]) -> (i32, String, String) {
    let Ran { code, out, talk } = output(dir, words).into();
    (code, out, talk)
}

/// What a run left behind, as texts.
pub(crate) struct Ran {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) talk: String,
}

impl From<Output> for Ran {
    fn from(output: Output) -> Self {
        Self {
            code: output.status.code().expect("it ended by itself"),
            out: String::from_utf8(output.stdout).expect("UTF-8"),
            talk: String::from_utf8(output.stderr).expect("UTF-8"),
        }
    }
}
