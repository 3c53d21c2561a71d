//! A whole page: head, sections in order, foot.

use super::html::{Text, verdict};
use super::overview::{self, Leads};
use super::photo::Shown;
use super::{PAGES, Tested, page_name, tested};
use crate::cautions::CAUTIONS;
use crate::digest::sha256;
use crate::exports::json::guard_word;
use crate::exports::table::summary;
use crate::record::{Case, Closeup, Record, Tally};
use anyhow::Result;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use nde_core::Confidence;
use sha2::{Digest as _, Sha256};
use std::io::Write;
use std::path::Path;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("review.js");

/// What a report is about.
pub(super) struct About<'a> {
    pub(super) record: &'a Record,
    pub(super) tested: Option<&'a Tested>,
    pub(super) tally: Tally,
    /// Folder of the marked photos.
    pub(super) dir: &'a Path,
}

/// A page on its way out.
pub(super) struct Page<'a> {
    pub(super) about: &'a About<'a>,
    pub(super) to: &'a mut dyn Write,
}

impl Page<'_> {
    /// Everything in one file.
    pub(super) fn whole(&mut self) -> Result<()> {
        self.head("Evaluation of a visible penetrant test")?;
        self.front()?;
        overview::write(self.about.record, &Leads::Down, self.to)?;
        let (about, mut n) = (self.about, 0);
        about.record.cases.each(&mut |case, closeups| {
            n += 1;
            Shown { record: about.record, dir: about.dir, case, closeups, n }.write(self.to)
        })?;
        self.back()
    }

    /// The overview of many photos.
    pub(super) fn overview(&mut self) -> Result<()> {
        self.head("Evaluation of visible penetrant tests")?;
        self.front()?;
        let page = |case: &Case| format!("{PAGES}/{}", page_name(case.marked.as_deref()));
        overview::write(self.about.record, &Leads::Page(&page), self.to)?;
        self.back()
    }

    /// The page of one photo of many.
    pub(super) fn of_photo(&mut self, case: &Case, closeups: &[Closeup]) -> Result<()> {
        self.head(&format!("Evaluation of {}", case.photo))?;
        writeln!(
            self.to,
            "<p><a href=\"../report.html\">All photos, criteria, cautions</a></p>\n</header>\n<main>"
        )?;
        let about = self.about;
        Shown { record: about.record, dir: about.dir, case, closeups, n: 1 }.write(self.to)?;
        self.cautions()?;
        self.foot()
    }

    fn head(&mut self, title: &str) -> Result<()> {
        let script = STANDARD.encode(Sha256::digest(SCRIPT.as_bytes()));
        Ok(writeln!(
            self.to,
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'sha256-{script}'; base-uri 'none'; form-action 'none'\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"generator\" content=\"nde {}\">\n<title>{}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<header>\n<h1>{}</h1>",
            env!("CARGO_PKG_VERSION"),
            Text(title),
            Text(title)
        )?)
    }

    /// Verdict of the whole, what was tested, what was judged by.
    fn front(&mut self) -> Result<()> {
        let judged = self.about.record.criteria.rules.is_some();
        let worst = self.about.record.verdict(&self.about.tally);
        writeln!(
            self.to,
            "<p class=\"lead\">{}<span>{}</span></p>\n<p>{}</p>\n</header>\n<main>",
            verdict(worst),
            Text(&summary(&self.about.tally, judged)),
            CAUTIONS[0]
        )?;
        tested::write(self.about.tested, self.to)?;
        self.criteria()
    }

    fn criteria(&mut self) -> Result<()> {
        writeln!(
            self.to,
            "<section aria-labelledby=\"criteria\">\n<h2 id=\"criteria\">What was judged by</h2>"
        )?;
        let criteria = &self.about.record.criteria;
        let Some(set) = &criteria.rules else {
            writeln!(self.to, "<p>Nothing was judged: sizes only.</p>\n</section>")?;
            return Ok(());
        };
        write!(self.to, "<p><strong>{}</strong>: {}", Text(set.id()), Text(set.title()))?;
        if let Some(edition) = set.edition() {
            write!(self.to, ", edition {}", Text(edition))?;
        }
        writeln!(
            self.to,
            ".</p>\n<table><thead><tr><th scope=\"col\">rule</th><th scope=\"col\">in words</th><th scope=\"col\">limit</th><th scope=\"col\">source</th></tr></thead><tbody>"
        )?;
        for line in set.rules() {
            writeln!(
                self.to,
                "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}; {}</td></tr>",
                Text(&line.name),
                Text(&line.sentence),
                Text(&line.limit),
                Text(&line.source.text),
                Confidence::word(line.source.confidence)
            )?;
        }
        writeln!(self.to, "</tbody></table>")?;
        for sentence in set.conventions().iter().chain(set.cautions()) {
            writeln!(self.to, "<p class=\"soft\">{}</p>", Text(sentence))?;
        }
        writeln!(
            self.to,
            "<p class=\"hash\">Rule set, SHA-256 {}</p>\n</section>",
            sha256(set.text().as_bytes())
        )?;
        Ok(())
    }

    /// Uncertainty, cautions, hashes, signatures.
    fn back(&mut self) -> Result<()> {
        let record = self.about.record;
        writeln!(
            self.to,
            "<section aria-labelledby=\"doubt\">\n<h2 id=\"doubt\">How sure the sizes are</h2>\n<p>± is the expanded uncertainty with k = 2: about 95 of 100 such intervals hold the true size of the indication. It joins what the edges of the indication leave open, the scale (print, fit, clicking), what a lens may distort away from the scale, and the tilt of the view. ±? means that none can be claimed: the size never decides. Length is the greatest distance between two points of the outline; where the way along a curve is more than a tenth longer, that is judged. Width is the largest circle inside the outline.</p>"
        )?;
        if record.criteria.rules.is_some() {
            let guard = match guard_word(record.criteria.guard) {
                "as-measured" => {
                    "Readings were compared with the limits as they stand (guard: as-measured)."
                }
                _ => {
                    "Only what is surely inside a limit is accepted; what may be past it needs review (guard: accept-side)."
                }
            };
            writeln!(self.to, "<p>{guard}</p>")?;
        }
        writeln!(self.to, "</section>")?;
        self.cautions()?;
        self.files()?;
        writeln!(
            self.to,
            "<section aria-label=\"Signatures\" class=\"sign\">\n<div>Evaluated by, qualification</div><div>Date, signature</div>\n<div>Checked by, qualification</div><div>Date, signature</div>\n<div>For the customer</div><div>Date, signature</div>\n</section>"
        )?;
        self.foot()
    }

    fn cautions(&mut self) -> Result<()> {
        writeln!(
            self.to,
            "<section aria-labelledby=\"cautions\">\n<h2 id=\"cautions\">Cautions</h2>\n<ul>"
        )?;
        for caution in CAUTIONS {
            writeln!(self.to, "<li>{}</li>", Text(caution))?;
        }
        Ok(writeln!(self.to, "</ul>\n</section>")?)
    }

    fn files(&mut self) -> Result<()> {
        writeln!(
            self.to,
            "<section aria-labelledby=\"files\">\n<h2 id=\"files\">Where this comes from</h2>\n<p>Made by nde {} from these files; the full record stands beside this report in indications.json.</p>\n<table><thead><tr><th scope=\"col\">photo</th><th scope=\"col\">SHA-256</th></tr></thead><tbody>",
            env!("CARGO_PKG_VERSION")
        )?;
        self.about.record.each(|case| {
            Ok(writeln!(
                self.to,
                "<tr><th scope=\"row\" class=\"name\">{}</th><td class=\"hash\">{}</td></tr>",
                Text(&case.photo),
                Text(&case.sha256)
            )?)
        })?;
        Ok(writeln!(self.to, "</tbody></table>\n</section>")?)
    }

    fn foot(&mut self) -> Result<()> {
        Ok(writeln!(
            self.to,
            "</main>\n<aside id=\"desk\" aria-label=\"Your calls\" hidden></aside>\n<script>{SCRIPT}</script>\n</body>\n</html>"
        )?)
    }
}
