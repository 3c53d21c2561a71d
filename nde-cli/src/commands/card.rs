//! `nde card`: the printable scale card.

use crate::args::{CardArgs, CardSize, PaperSize};
use crate::card::{Page, Paper, pdf, png, svg};
use crate::outcome::Outcome;
use crate::save;
use crate::talk::Streams;
use anyhow::{Result, bail};
use nde_measure::scale::CardDesign;
use std::path::{Path, PathBuf};

#[derive(Clone, Copy)]
enum Form {
    Pdf,
    Svg,
    Png,
}

const FORMS: [(Form, &str); 3] = [(Form::Pdf, "pdf"), (Form::Svg, "svg"), (Form::Png, "png")];

/// Writes the card.
pub(super) fn run(args: &CardArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let (design, word) = match args.size {
        CardSize::Standard => (CardDesign::standard(), "standard"),
        CardSize::Small => (CardDesign::small(), "small"),
        CardSize::Large => (CardDesign::large(), "large"),
    };
    let paper = match args.paper {
        PaperSize::A4 => Paper::A4,
        PaperSize::Letter => Paper::LETTER,
    };
    let mut written = Vec::new();
    for (form, path) in targets(&args.out, word)? {
        save::file(&path, |target| {
            match form {
                Form::Pdf => target.write_all(&pdf(&Page::on(paper, &design)))?,
                Form::Svg => target.write_all(svg(&Page::on(paper, &design)).as_bytes())?,
                Form::Png => png(&Page::trimmed(&design), args.dpi, target)?,
            }
            Ok(())
        })?;
        written.push(path.display().to_string());
    }
    let list = written.join("\n");
    super::forgive_closed(writeln!(streams.out, "{list}").map_err(Into::into))?;
    streams.note(format_args!(
        "print at 100 % (no fit to page), measure both {} mm bars with a calliper, and give the readings as --scale card:ACROSS,DOWN",
        design.bar_mm()
    ));
    Ok(Outcome::Accepted)
}

/// One file by its ending, or all three in a folder.
fn targets(out: &Path, word: &str) -> Result<Vec<(Form, PathBuf)>> {
    let ending = out.extension().and_then(|e| e.to_str()).map(str::to_lowercase);
    if !out.is_dir() {
        if let Some((form, _)) = FORMS.iter().find(|(_, e)| ending.as_deref() == Some(e)) {
            return Ok(vec![(*form, out.to_owned())]);
        }
        let other = ["jpg", "jpeg", "gif", "tif", "tiff", "txt", "ps", "eps", "docx"];
        if out.is_file() || ending.as_deref().is_some_and(|e| other.contains(&e)) {
            bail!(
                "{} is neither a folder nor a form of the card; give a folder, or a file ending in .pdf, .svg or .png",
                out.display()
            );
        }
    }
    save::folder(out)?;
    Ok(FORMS.iter().map(|(form, e)| (*form, out.join(format!("nde-card-{word}.{e}")))).collect())
}
