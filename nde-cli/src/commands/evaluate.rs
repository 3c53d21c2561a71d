//! `nde evaluate`: measure, judge, export.

mod judging;
mod target;
mod one;
mod handover;
mod photos;
mod watch;

use crate::args::{EvaluateArgs, Format};
use crate::exports;
use crate::inputs::{Depth, Empty, Inputs, ListFile, Wanted};
use crate::list;
use crate::outcome::Outcome;
use crate::record::{Case, Record, Tally};
use crate::settings::Criteria;
use crate::talk::Streams;
use anyhow::{Context as _, Result, bail};
use judging::judged;

/// Evaluates photos or a typed list.
pub(super) fn run(args: &EvaluateArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let nothing_judged = args.rules.is_none() && args.limit.is_empty();
    if args.guard.is_some() && nothing_judged {
        bail!("--guard is about limits and nothing is judged; give --rules or --limit too");
    }
    if args.weld.is_given() && nothing_judged {
        bail!(
            "--thickness, --weld-axis and --weld-length are about limits and nothing is judged; give --rules or --limit too"
        );
    }
    let guard = args.guard.unwrap_or_default();
    let criteria = Criteria::resolve(args.rules.as_deref(), &args.limit, guard, &args.weld)?;
    if args.batch.watch {
        return watch::run(args, criteria, streams);
    }
    match Inputs::find(&wanted(args, Empty::Refused))? {
        Inputs::List(file) => of_list(&file, criteria, args, streams),
        Inputs::Photos(photos) => {
            let record = photos::run(&photos, criteria, args, streams)?;
            finish(&record, args, streams)
        }
    }
}

/// Where photos are looked for.
fn wanted(args: &EvaluateArgs, empty: Empty) -> Wanted<'_> {
    let batch = &args.batch;
    Wanted {
        paths: &args.paths,
        names: batch.list.as_deref(),
        depth: if batch.recursive { Depth::All } else { Depth::Flat },
        matching: &batch.matching,
        leave_out: args.out.as_deref(),
        empty,
    }
}

fn of_list(
    file: &ListFile,
    criteria: Criteria,
    args: &EvaluateArgs,
    streams: &mut Streams<'_>,
) -> Result<Outcome> {
    let seeing = &args.seeing;
    let scale_given = !seeing.scale.is_empty() && !seeing.scale_by_default;
    if scale_given || !seeing.region.is_empty() || seeing.height.is_some() {
        bail!("--scale, --height and --region are about photos; a typed list needs none");
    }
    let name = file.name();
    let bytes = file.bytes(list::MOST_BYTES)?;
    let typed = list::read(&bytes).with_context(|| name.clone())?;
    if !typed.ignored.is_empty() && !args.quiet {
        streams
            .note(format_args!("{name}: these columns are not used: {}", typed.ignored.join(", ")));
    }
    let judgement = judged(&typed.indications, &criteria, &[]).with_context(|| name.clone())?;
    let sha256 = crate::digest::sha256(&bytes);
    let case = Case::of_list(&name, &sha256, &typed.indications, judgement.as_ref());
    let record = Record {
        criteria,
        cases: Box::new(vec![case]),
        failures: Vec::new(),
        units: args.units.unwrap_or_default(),
    };
    if let Some(dir) = &args.out {
        crate::save::folder(dir)?;
        handover::write(dir, &record, args)?;
    }
    finish(&record, args, streams)
}

/// Names what could not be done, prints the results, and says how it ended.
fn finish(record: &Record, args: &EvaluateArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let outcome = super::report_failures(&record.failures, streams);
    let tally = record.tally()?;
    let Tally { review, reject, .. } = tally;
    let outcome =
        outcome.and(if review + reject > 0 { Outcome::Attention } else { Outcome::Accepted });
    if args.format != Format::Table && !args.quiet && tally.read + tally.could_not > 1 {
        // The table says it itself.
        streams.tell(exports::table::summary(&tally, record.criteria.rules.is_some()));
    }
    if record.criteria.rules.is_none() && !args.quiet {
        streams.note("nothing was judged; give --rules (see `nde rules`) or --limit to judge");
    }
    super::forgive_closed(exports::print(record, args.format, streams))?;
    Ok(outcome)
}
