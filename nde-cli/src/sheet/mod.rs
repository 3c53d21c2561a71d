//! The inspection sheet: a readable TOML file beside the photos, saying what was tested, how, by whom and
//! when. What is not recorded is absent; what cannot be right is a fault with its line and remedy.

mod reader;
mod order;
mod form;
mod facts;
mod blank;
mod criteria;
mod store;
mod show;
mod run;
mod bench;

pub(crate) use bench::RealBench;
pub(crate) use blank::{Blank, blank};
pub(crate) use criteria::{technique, technique_of};
pub(crate) use reader::SheetFault;
pub(crate) use run::{Walk, walk};
pub(crate) use show::{blocks, shown};
pub(crate) use store::{durable, load, read, text_of};

use crate::clock::Moment;
use crate::region::Region;
use nde_core::Limit;
use nde_core::technique::{
    Developer, DeveloperCoat, Flaw, Form, Material, Quantity, Removal, Retest,
};
use nde_measure::ScaleSpec;
use nde_measure::scale::Height;

/// One inspection sheet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sheet {
    /// What was tested.
    pub part: Part,
    /// By what it is tested and judged.
    pub procedure: Procedure,
    /// Who did it.
    pub people: People,
    /// With what.
    pub materials: Materials,
    /// Temperature and light.
    pub conditions: Conditions,
    /// When.
    pub steps: Steps,
    /// The camera's clock.
    pub camera: Camera,
    /// What must be photographed.
    pub zones: Vec<Zone>,
    /// What was noted, in order.
    pub notes: Vec<Note>,
}

/// What was tested.
#[derive(Clone, Debug, Default)]
pub(crate) struct Part {
    /// Its name.
    pub name: Option<String>,
    /// Drawing or serial number.
    pub number: Option<String>,
    /// What it is made of.
    pub material: Option<Material>,
    /// How it was made.
    pub form: Option<Form>,
    /// What is looked for.
    pub looked_for: Vec<Flaw>,
    /// Its surface, in words.
    pub surface: Option<String>,
    /// Whether coatings were off.
    pub bare: Option<bool>,
    /// The area under test, in words.
    pub area: Option<String>,
}

/// By what it is tested and judged.
#[derive(Clone, Debug, Default)]
pub(crate) struct Procedure {
    /// The written procedure.
    pub document: Option<String>,
    /// Technique: an id, or a file beside the sheet.
    pub technique: Option<String>,
    /// Rule set: an id, or a file beside the sheet.
    pub rules: Option<String>,
    /// Limits of one's own.
    pub limits: Vec<Limit>,
    /// What is in the frame of every photo.
    pub scale: Vec<ScaleSpec>,
    /// Calls beside the sheet.
    pub calls: Option<String>,
    /// Whether the part was tested before.
    pub retest: Option<Retest>,
}

/// Who did it.
#[derive(Clone, Debug, Default)]
pub(crate) struct People {
    /// Who ran the test.
    pub tested_by: Option<String>,
    /// Who evaluates it.
    pub evaluated_by: Option<String>,
    /// Their qualification, in words.
    pub qualification: Option<String>,
}

/// One product and its batch.
#[derive(Clone, Debug, Default)]
pub(crate) struct Product {
    /// Its name.
    pub product: Option<String>,
    /// Its batch number.
    pub batch: Option<String>,
    /// Least dwell the maker states; penetrant only.
    pub dwell: Option<Quantity>,
}

/// With what.
#[derive(Clone, Debug, Default)]
pub(crate) struct Materials {
    /// Cleaner and remover.
    pub cleaner: Product,
    /// Penetrant.
    pub penetrant: Product,
    /// Developer.
    pub developer: Product,
    /// Whether all are of one approved family.
    pub one_family: Option<bool>,
    /// Halogens by weight.
    pub halogen: Option<Quantity>,
    /// Sulfur by weight.
    pub sulfur: Option<Quantity>,
}

/// Temperature and light.
#[derive(Clone, Debug, Default)]
pub(crate) struct Conditions {
    /// Of part and penetrant.
    pub temperature: Option<Quantity>,
    /// On the part while reading.
    pub light: Option<Quantity>,
    /// The light meter, in words.
    pub light_meter: Option<String>,
}

/// Start and end of a step.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Times {
    /// When it began.
    pub start: Option<Moment>,
    /// When it ended.
    pub end: Option<Moment>,
}

/// The steps, in the order of the work.
#[derive(Clone, Debug, Default)]
pub(crate) struct Steps {
    /// Cleaning, until the last cleaner is wiped off.
    pub clean: Times,
    /// Blown dry after cleaning.
    pub blown_dry: Option<bool>,
    /// How far around the area was cleaned.
    pub margin: Option<Quantity>,
    /// Penetrant on, until its removal begins.
    pub penetrant: Times,
    /// Whether it dried on the part.
    pub dried: Option<bool>,
    /// Removal of the excess.
    pub remove: Times,
    /// How it was removed.
    pub method: Option<Removal>,
    /// Pressure of a rinse.
    pub pressure: Option<Quantity>,
    /// Temperature of a rinse.
    pub rinse_temperature: Option<Quantity>,
    /// Developer being put on.
    pub develop: Times,
    /// When its coat was dry.
    pub dry: Option<Moment>,
    /// Which developer.
    pub developer: Option<Developer>,
    /// How it lay.
    pub coat: Option<DeveloperCoat>,
    /// First and last look.
    pub read: Times,
    /// Cleaning afterwards.
    pub post_clean: Times,
}

/// The camera's clock.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Camera {
    /// Zone offset of its clock in seconds, where photos do not tell.
    pub offset_seconds: Option<i32>,
    /// Seconds its clock runs ahead of the bench clock.
    pub ahead_seconds: i64,
}

impl Camera {
    /// Its zone offset as written, such as `+02:00`.
    #[must_use]
    pub(crate) fn zone(self) -> Option<String> {
        let seconds = self.offset_seconds?;
        let minutes = seconds.abs() / 60;
        let sign = if seconds < 0 { '-' } else { '+' };
        Some(format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60))
    }
}

/// A zone of the part that must be photographed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Zone {
    /// Its name.
    pub name: String,
    /// Its photos, relative to the sheet; empty: not yet photographed.
    pub photos: Vec<String>,
    /// Height of its surface above the scale's plane.
    pub height: Option<Height>,
    /// Its developer coat in the photo.
    pub regions: Vec<Region>,
    /// What is in its frame, where it differs.
    pub scale: Vec<ScaleSpec>,
}

/// Something noted.
#[derive(Clone, Debug)]
pub(crate) struct Note {
    /// When.
    pub at: Option<Moment>,
    /// What.
    pub text: String,
}

#[cfg(test)]
mod tests;
