//! The command `nde`.

use nde_cli::{Dress, Reader, Streams};
use std::io::{BufWriter, IsTerminal as _, stderr, stdout};
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut out = BufWriter::new(stdout().lock());
    let mut talk = stderr(); // not locked: a panicking worker must be able to print
    let mut streams = Streams {
        out: &mut out,
        talk: &mut talk,
        out_dress: Dress::of(stdout().is_terminal()),
        talk_dress: Dress::of(stderr().is_terminal()),
        talk_reader: if stderr().is_terminal() { Reader::Person } else { Reader::Pipe },
    };
    nde_cli::run_on(std::env::args_os(), &mut streams).into()
}
