//! What a sheet tells the technique: durations out of moments.

use super::Sheet;
use crate::clock::Moment;
use nde_core::technique::{Drying, Process, Quantity, Reading};

impl Sheet {
    /// The recorded facts.
    #[must_use]
    pub(crate) fn process(&self) -> Process {
        let steps = &self.steps;
        let since = |start: Option<Moment>, end: Option<Moment>| {
            Some(Quantity::seconds(end?.seconds_since(start?)))
        };
        let reading = |start: Option<Moment>| {
            Some(Reading {
                first: since(start, steps.read.start)?,
                last: since(start, steps.read.end)?,
            })
        };
        let drying = match steps.blown_dry {
            Some(true) => Some(Drying::Blown),
            _ => since(steps.clean.end, steps.penetrant.start).map(Drying::Evaporated),
        };
        let mut process = Process::default();
        process.material = self.part.material;
        process.form = self.part.form;
        process.flaws.clone_from(&self.part.looked_for);
        process.surface_temperature = self.conditions.temperature;
        process.bare = self.part.bare;
        process.cleaned_margin = steps.margin;
        process.drying = drying;
        process.one_family = self.materials.one_family;
        process.halogen = self.materials.halogen;
        process.sulfur = self.materials.sulfur;
        process.dwell = since(steps.penetrant.start, steps.penetrant.end.or(steps.remove.start));
        process.maker_dwell = self.materials.penetrant.dwell;
        process.penetrant_dried = steps.dried;
        process.removal = steps.method;
        process.rinse_pressure = steps.pressure;
        process.rinse_temperature = steps.rinse_temperature;
        process.developer = steps.developer;
        process.coat = steps.coat;
        process.since_applied = reading(steps.develop.end.or(steps.develop.start));
        process.since_dry = reading(steps.dry);
        process.light = self.conditions.light;
        process.retest = self.procedure.retest;
        process
    }

    /// What a reader of the record will look for and does not find, beside what the technique asks.
    #[must_use]
    pub(crate) fn missing(&self) -> Vec<&'static str> {
        let mut missing = Vec::new();
        let mut ask = |absent: bool, words: &'static str| {
            if absent {
                missing.push(words);
            }
        };
        ask(self.part.name.is_none(), "name in [part]: which part this is");
        ask(self.part.area.is_none(), "area in [part]: what was tested of it");
        ask(self.procedure.document.is_none(), "document in [procedure]: the written procedure");
        ask(self.procedure.technique.is_none(), "technique in [procedure] (see `nde rules`)");
        ask(
            self.procedure.rules.is_none() && self.procedure.limits.is_empty(),
            "rules or limits in [procedure] (see `nde rules`)",
        );
        ask(self.people.tested_by.is_none(), "tested_by in [people]");
        ask(self.people.evaluated_by.is_none(), "evaluated_by in [people]");
        ask(self.people.qualification.is_none(), "qualification in [people]");
        ask(self.materials.cleaner.batch.is_none(), "batch in [materials.cleaner]");
        ask(self.materials.penetrant.batch.is_none(), "batch in [materials.penetrant]");
        ask(self.materials.developer.batch.is_none(), "batch in [materials.developer]");
        ask(self.zones.is_empty(), "[[zone]]: what must be photographed");
        missing
    }
}
