//! `nde measure`: indications without judging.

use crate::args::MeasureArgs;
use crate::batch;
use crate::exports;
use crate::inputs::Inputs;
use crate::outcome::Outcome;
use crate::record::{Case, Content, Failure, Record};
use crate::seeing::see;
use crate::settings::{Criteria, Seeing};
use crate::talk::Streams;
use anyhow::{Result, bail};
use nde_core::Guard;

/// Measures the photos.
pub(super) fn run(args: &MeasureArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let seeing = Seeing::resolve(&args.seeing);
    let Inputs::Photos(photos) = Inputs::find(&args.paths)? else {
        bail!("a typed list is measured already; use `nde evaluate` to judge it");
    };
    let (mut cases, mut failures) = (Vec::new(), Vec::new());
    let results = batch::each(
        &photos,
        batch::workers(),
        |file| {
            see(file, &seeing).map(|seen| Case {
                name: file.name.clone(),
                sha256: seen.sha256,
                content: Content::Photo(Box::new(seen.measurement)),
                judgement: None,
                marked: None,
            })
        },
        |done, file, result| {
            super::progress(streams, args.quiet, [done, photos.len()], file, result);
        },
    );
    for (file, result) in photos.iter().zip(results) {
        match super::settled(result) {
            Ok(case) => cases.push(case),
            Err(why) => failures.push(Failure { name: file.name.clone(), why }),
        }
    }
    let outcome = super::report_failures(&failures, streams);
    let criteria = Criteria { rules: None, guard: Guard::default() };
    let record = Record { criteria, cases, failures };
    super::forgive_closed(exports::print(&record, args.format, streams))?;
    Ok(outcome)
}
