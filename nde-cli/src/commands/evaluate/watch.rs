//! Photos evaluated as they arrive.
//!
//! The folders are looked at every second. A photo is taken up once it has kept its size and its
//! time from one look to the next, so that none is read half copied.

use super::{finish, photos, wanted};
use crate::args::EvaluateArgs;
use crate::inputs::{Empty, Inputs, PhotoFile};
use crate::inspection::Inspection;
use crate::outcome::Outcome;
use crate::settings::Criteria;
use crate::talk::Streams;
use anyhow::{Result, bail};
use std::collections::HashMap;
use std::path::PathBuf;
use std::time::{Duration, Instant, SystemTime};

/// Time between two looks. Chosen: a phone's sync writes more often than that.
const LOOK: Duration = Duration::from_secs(1);

/// What shows that a file is as it was.
type Stamp = (u64, Option<SystemTime>);

/// Evaluates what is there, then what arrives.
pub(super) fn run(
    args: &EvaluateArgs,
    criteria: Criteria,
    inspection: &Inspection,
    streams: &mut Streams<'_>,
) -> Result<Outcome> {
    if let Some(file) = args.paths.iter().find(|path| !path.is_dir()) {
        bail!("{}: is no folder; --watch looks into folders", file.display());
    }
    if !args.quiet {
        streams.note("looking for photos that arrive; stop with Ctrl-C, what is done is kept");
    }
    let (mut seen, mut done): (HashMap<PathBuf, Stamp>, HashMap<PathBuf, Stamp>) =
        (HashMap::new(), HashMap::new());
    let (mut last, mut quiet_since) = (None, Instant::now());
    loop {
        let Inputs::Photos(there) = Inputs::find(&wanted(args, Empty::Allowed))? else {
            bail!("a typed list does not arrive in a folder; evaluate it without --watch");
        };
        let now: HashMap<PathBuf, Stamp> =
            there.iter().filter_map(|file| Some((file.path.clone(), stamp(file)?))).collect();
        let settled = |file: &&PhotoFile| {
            let stamp = now.get(&file.path);
            stamp.is_some_and(|s| s.0 > 0) && stamp == seen.get(&file.path)
        };
        let ready: Vec<PhotoFile> = there.iter().filter(settled).cloned().collect();
        let stamps: HashMap<PathBuf, Stamp> =
            ready.iter().filter_map(|f| Some((f.path.clone(), *now.get(&f.path)?))).collect();
        if stamps != done {
            last = Some(photos::run(&ready, criteria.clone(), inspection, args, streams)?);
            done = stamps;
            quiet_since = Instant::now();
        } else if now != seen {
            quiet_since = Instant::now();
        }
        seen = now;
        let end = args.batch.watch_end.map(Duration::from_secs);
        if end.is_some_and(|end| quiet_since.elapsed() >= end) {
            break;
        }
        std::thread::sleep(LOOK);
    }
    match last {
        Some(record) => finish(&record, args, streams),
        None => bail!("no photo arrived; check the folder that the camera or phone copies to"),
    }
}

fn stamp(file: &PhotoFile) -> Option<Stamp> {
    let metadata = std::fs::metadata(&file.path).ok()?;
    Some((metadata.len(), metadata.modified().ok()))
}
