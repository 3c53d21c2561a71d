//! What one run found, before it takes any form.
//!
//! Plain data that stands in the published JSON record just so, and can be read back from it: the
//! lists and reports of a batch are put together from records on disk, photo by photo.

mod word;
mod said;
mod sizes;
mod origins;
mod picture;
mod row;
mod judged;
mod part;
mod case;
mod called;

pub(crate) use case::{Aside, Case, aside_words};
pub(crate) use judged::Reasoned;
pub(crate) use origins::{LengthOrigins, Origins};
pub(crate) use part::{Part, ProcessItem, TechniqueUsed, ZoneSeen};
pub(crate) use picture::{BendSeen, Checks, Picture, on_part};
pub(crate) use row::Row;
pub(crate) use said::Said;
pub(crate) use sizes::{Basis, Size};

use crate::args::Units;
use crate::settings::Criteria;
use anyhow::Result;
use nde_core::Verdict;
use serde::{Deserialize, Serialize};

/// One run.
#[derive(Debug)]
pub(crate) struct Record {
    /// What was judged by.
    pub criteria: Criteria,
    /// What was read, in the order given.
    pub cases: Box<dyn Cases>,
    /// What could not be read or judged, in the order given.
    pub failures: Vec<Failure>,
    /// Units for eyes: the table and the report. Files have millimetres.
    pub units: Units,
    /// The part, its sheet and the calls; absent without any.
    pub part: Option<Part>,
    /// The words of the command line that results depend on; empty for other commands.
    pub command: Vec<String>,
}

/// Something that could not be done, and why: the fact and the remedy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Failure {
    /// The photo or list.
    pub name: String,
    /// Why.
    pub why: String,
}

/// The cases of a run, in memory or on disk.
pub(crate) trait Cases: std::fmt::Debug {
    /// Shows each case, in order, with its close-ups.
    ///
    /// # Errors
    /// What `look` reports, or a case that cannot be read back.
    fn each(&self, look: &mut dyn FnMut(&Case, &[Closeup]) -> Result<()>) -> Result<()>;

    /// How many there are.
    fn count(&self) -> usize;
}

impl Cases for Vec<Case> {
    fn each(&self, look: &mut dyn FnMut(&Case, &[Closeup]) -> Result<()>) -> Result<()> {
        self.iter().try_for_each(|case| look(case, &[]))
    }

    fn count(&self) -> usize {
        self.len()
    }
}

/// One indication close up: a piece of the part, seen straight from above, turned as the photo is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Closeup {
    /// The indication.
    pub id: String,
    /// Place on the part of the picture's upper left corner.
    pub corner_mm: [f64; 2],
    /// Direction on the part of the picture's way to the right.
    pub right: [f64; 2],
    /// Width and height on the part.
    pub size_mm: [f64; 2],
    /// Its outline, from the upper left corner.
    pub outline_mm: Vec<[f64; 2]>,
    /// The picture as a JPEG file in base64.
    pub jpeg: String,
}

impl Record {
    /// Shows each case, in order.
    ///
    /// # Errors
    /// See [`Cases::each`].
    pub(crate) fn each(&self, mut look: impl FnMut(&Case) -> Result<()>) -> Result<()> {
        self.cases.each(&mut |case, _| look(case))
    }

    /// What there is to count.
    ///
    /// # Errors
    /// A case that cannot be read back.
    pub(crate) fn tally(&self) -> Result<Tally> {
        let mut tally = Tally { could_not: self.failures.len(), ..Tally::default() };
        self.each(|case| {
            tally.add(case);
            Ok(())
        })?;
        Ok(tally)
    }
}

impl Record {
    /// The verdict of the whole: the worst of its photos and of its part. What was not read may hold
    /// anything, so it is never better than review then. Absent where nothing was judged.
    #[must_use]
    pub(crate) fn verdict(&self, tally: &Tally) -> Option<Verdict> {
        self.criteria.rules.as_ref()?;
        let photos = match (tally.reject, tally.review, tally.accept) {
            (1.., ..) => Some(Verdict::Reject),
            (0, 1.., _) => Some(Verdict::Review),
            (0, 0, 1..) => Some(Verdict::Accept),
            (0, 0, 0) => None,
        };
        let part = self.part.as_ref();
        let open = part.is_some_and(|part| !part.findings.is_empty()) || tally.could_not > 0;
        let part = part.and_then(|part| part.verdict);
        let open = (open && (photos.is_some() || part.is_some())).then_some(Verdict::Review);
        [photos, part, open].into_iter().flatten().max_by_key(|verdict| match verdict {
            Verdict::Accept => 0,
            Verdict::Review => 1,
            Verdict::Reject => 2,
        })
    }
}

/// What there is to count in a run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    /// Photos or lists read.
    pub read: usize,
    /// Lists among them.
    pub lists: usize,
    /// Indications in them.
    pub indications: usize,
    /// Photos that could not be read or judged.
    pub could_not: usize,
    /// Accepted.
    pub accept: usize,
    /// A person must decide.
    pub review: usize,
    /// Rejected.
    pub reject: usize,
}

impl Tally {
    fn add(&mut self, case: &Case) {
        self.read += 1;
        self.lists += usize::from(case.picture.is_none());
        self.indications += case.indications.len();
        match case.verdict() {
            Some(Verdict::Accept) => self.accept += 1,
            Some(Verdict::Review) => self.review += 1,
            Some(Verdict::Reject) => self.reject += 1,
            None => {}
        }
    }
}
