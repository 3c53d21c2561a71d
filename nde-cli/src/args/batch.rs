//! Words about many photos.

use super::Shard;
use clap::Args as ClapArgs;
use glob::Pattern;
use std::path::PathBuf;

/// Which photos, and how a long run goes.
#[derive(Clone, Debug, Default, ClapArgs)]
#[command(next_help_heading = "Many photos")]
pub(crate) struct BatchArgs {
    /// Look into folders inside the folders given, too.
    #[arg(long, short)]
    pub recursive: bool,
    /// Of folders, only photos whose name matches, such as "chain*.jpg"; with a / the pattern is
    /// held against the place inside the folder. Repeatable: one match is enough.
    #[arg(long = "match", value_name = "GLOB")]
    pub matching: Vec<Pattern>,
    /// Photos named in a file, one a line; `-` reads the names from standard input.
    #[arg(long, value_name = "FILE")]
    pub list: Option<PathBuf>,
    /// Only this part of the photos, such as 3/8, for a job scheduler. Give all parts the same
    /// --out, then the same command without --shard: it measures nothing anew and writes the lists.
    #[arg(long, value_name = "N/OF", requires = "out")]
    pub shard: Option<Shard>,
    /// Take over results from another output folder where photo, settings and version are the same.
    #[arg(long, value_name = "DIR", requires = "out")]
    pub reuse: Vec<PathBuf>,
    /// Go on looking for photos that arrive in the folders; stop with Ctrl-C.
    #[arg(long, requires = "out", conflicts_with_all = ["shard", "list"])]
    pub watch: bool,
    /// With --watch: stop after so many seconds without a new photo.
    #[arg(long, value_name = "SECONDS", requires = "watch")]
    pub watch_end: Option<u64>,
}
