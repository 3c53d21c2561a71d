//! What a technique can limit: each item's word, kind, and what to do when it is not kept.

use super::process::{Developer, DeveloperCoat, Drying, Process, Removal, Retest};
use super::{Dimension, Quantity};

/// One thing that a technique limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Item {
    /// Temperature of part and penetrant.
    SurfaceTemperature,
    /// Bare metal: paint and coatings off.
    BareSurface,
    /// How far around the area was cleaned.
    CleanedMargin,
    /// From the end of cleaning to the penetrant.
    CleanerDrying,
    /// All materials of one approved family.
    OneFamily,
    /// Halogens in the materials.
    Halogen,
    /// Sulfur in the materials.
    Sulfur,
    /// From penetrant on to its removal.
    Dwell,
    /// The dwell against the maker's least.
    MakerDwell,
    /// Penetrant kept wet until removed.
    KeptWet,
    /// How the excess was taken off.
    ExcessRemoval,
    /// Pressure of the rinse.
    RinsePressure,
    /// Temperature of the rinse.
    RinseTemperature,
    /// Which developer.
    DeveloperForm,
    /// How the developer lay.
    DeveloperCoat,
    /// From the developer's clock to the look.
    Developing,
    /// Light while reading.
    Light,
    /// A part tested before was made ready in full.
    Retest,
}

/// What an item is held against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A number with its side.
    Number(Dimension),
    /// A list of words.
    Words,
    /// Yes.
    Yes,
}

/// What was found for an item.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Found {
    /// One quantity.
    Number(Quantity),
    /// Two: the least and the greatest both must keep the limit.
    Span(Quantity, Quantity),
    /// A word.
    Word(&'static str),
    /// Yes or no, and the words for it.
    Answer(bool, &'static str),
    /// There is nothing to hold against the limit: it is kept, and why.
    Beside(&'static str),
}

impl Item {
    /// All, in the order of the work.
    pub const ALL: [Self; 18] = [
        Self::SurfaceTemperature,
        Self::BareSurface,
        Self::CleanedMargin,
        Self::CleanerDrying,
        Self::OneFamily,
        Self::Halogen,
        Self::Sulfur,
        Self::Dwell,
        Self::MakerDwell,
        Self::KeptWet,
        Self::ExcessRemoval,
        Self::RinsePressure,
        Self::RinseTemperature,
        Self::DeveloperForm,
        Self::DeveloperCoat,
        Self::Developing,
        Self::Light,
        Self::Retest,
    ];

    /// As written in a technique.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::SurfaceTemperature => "surface-temperature",
            Self::BareSurface => "bare-surface",
            Self::CleanedMargin => "cleaned-margin",
            Self::CleanerDrying => "cleaner-drying",
            Self::OneFamily => "one-family",
            Self::Halogen => "halogen",
            Self::Sulfur => "sulfur",
            Self::Dwell => "dwell",
            Self::MakerDwell => "maker-dwell",
            Self::KeptWet => "kept-wet",
            Self::ExcessRemoval => "excess-removal",
            Self::RinsePressure => "rinse-pressure",
            Self::RinseTemperature => "rinse-temperature",
            Self::DeveloperForm => "developer-form",
            Self::DeveloperCoat => "developer-coat",
            Self::Developing => "developing",
            Self::Light => "light",
            Self::Retest => "retest",
        }
    }

    /// From its word; absent when it is not known.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|item| item.word() == word)
    }

    /// What it is held against.
    #[must_use]
    pub const fn kind(self) -> Kind {
        match self {
            Self::SurfaceTemperature | Self::RinseTemperature => {
                Kind::Number(Dimension::Temperature)
            }
            Self::CleanedMargin => Kind::Number(Dimension::Length),
            Self::CleanerDrying | Self::Dwell | Self::Developing => Kind::Number(Dimension::Time),
            Self::Halogen | Self::Sulfur => Kind::Number(Dimension::Share),
            Self::RinsePressure => Kind::Number(Dimension::Pressure),
            Self::Light => Kind::Number(Dimension::Light),
            Self::ExcessRemoval | Self::DeveloperForm | Self::DeveloperCoat | Self::Retest => {
                Kind::Words
            }
            Self::BareSurface | Self::OneFamily | Self::MakerDwell | Self::KeptWet => Kind::Yes,
        }
    }

    /// The words it can be held against; empty where it is no matter of words.
    pub(crate) fn words(self) -> Vec<&'static str> {
        match self {
            Self::ExcessRemoval => Removal::ALL.iter().map(|w| w.word()).collect(),
            Self::DeveloperForm => Developer::ALL.iter().map(|w| w.word()).collect(),
            Self::DeveloperCoat => DeveloperCoat::ALL.iter().map(|w| w.word()).collect(),
            Self::Retest => Retest::ALL.iter().map(|w| w.word()).collect(),
            _ => Vec::new(),
        }
    }

    /// What to do when it is not kept.
    #[must_use]
    pub const fn remedy(self) -> &'static str {
        match self {
            Self::SurfaceTemperature => {
                "bring part and materials into the range, clean and test again"
            }
            Self::BareSurface => "strip the coating, clean and test again",
            Self::CleanedMargin => "clean further around the area and test again",
            Self::CleanerDrying => {
                "clean, let the cleaner evaporate or blow it dry, and test again"
            }
            Self::OneFamily => "clean and test again with materials of one approved family",
            Self::Halogen | Self::Sulfur => {
                "clean at once, ask the metallurgist, and use materials certified for this metal"
            }
            Self::Dwell | Self::MakerDwell => "clean and test again with the dwell timed",
            Self::KeptWet => "clean and test again; put fresh penetrant on before it dries",
            Self::ExcessRemoval => "clean and test again; wipe with a cloth, never spray the part",
            Self::RinsePressure | Self::RinseTemperature => {
                "clean and test again with a gentler rinse"
            }
            Self::DeveloperForm => "clean and test again with a developer meant for visible dye",
            Self::DeveloperCoat => "clean and test again with a thin, even coat",
            Self::Developing => "clean and test again, and read inside the window",
            Self::Light => "bring more light and read again, if the window is still open",
            Self::Retest => "clean the part fully and run the whole process again",
        }
    }

    /// What to do when nobody recorded it.
    #[must_use]
    pub const fn ask(self) -> &'static str {
        match self {
            Self::SurfaceTemperature => "write temperature in [conditions]",
            Self::BareSurface => "write bare = true in [part], if it was",
            Self::CleanedMargin => "write margin in [steps.clean]",
            Self::CleanerDrying => {
                "write the end of [steps.clean] and the start of [steps.penetrant], or blown_dry"
            }
            Self::OneFamily => "write one_family = true in [materials], if it is so",
            Self::Halogen => "write halogen in [materials], from the maker's certificate",
            Self::Sulfur => "write sulfur in [materials], from the maker's certificate",
            Self::Dwell => "write start and end in [steps.penetrant]",
            Self::MakerDwell => "write dwell in [materials.penetrant], from the maker's sheet",
            Self::KeptWet => "write dried = false in [steps.penetrant], if it stayed wet",
            Self::ExcessRemoval => "write method in [steps.remove]",
            Self::RinsePressure => "write pressure in [steps.remove]",
            Self::RinseTemperature => "write temperature in [steps.remove]",
            Self::DeveloperForm => "write form in [steps.develop]",
            Self::DeveloperCoat => "write coat in [steps.develop]",
            Self::Developing => {
                "write start and dry in [steps.develop], start and end in [steps.read]"
            }
            Self::Light => "write light in [conditions]",
            Self::Retest => "write retest in [procedure]",
        }
    }

    /// What was found, for all but the developing window, whose clock the technique chooses.
    pub(crate) fn found(self, process: &Process) -> Option<Found> {
        let answer = |yes: Option<bool>, words: [&'static str; 2]| {
            yes.map(|yes| Found::Answer(yes, words[usize::from(!yes)]))
        };
        match self {
            Self::SurfaceTemperature => process.surface_temperature.map(Found::Number),
            Self::BareSurface => answer(process.bare, ["bare", "coated"]),
            Self::CleanedMargin => process.cleaned_margin.map(Found::Number),
            Self::CleanerDrying => process.drying.map(|drying| match drying {
                Drying::Blown => Found::Beside("blown dry"),
                Drying::Evaporated(time) => Found::Number(time),
            }),
            Self::OneFamily => answer(process.one_family, ["one family", "mixed"]),
            Self::Halogen => process.halogen.map(Found::Number),
            Self::Sulfur => process.sulfur.map(Found::Number),
            Self::Dwell => process.dwell.map(Found::Number),
            Self::MakerDwell => match (process.dwell, process.maker_dwell) {
                (Some(dwell), Some(least)) => {
                    Some(Found::Answer(dwell >= least, "against the maker's least"))
                }
                _ => None,
            },
            Self::KeptWet => answer(process.penetrant_dried.map(|d| !d), ["wet", "dried"]),
            Self::ExcessRemoval => process.removal.map(|r| Found::Word(r.word())),
            Self::RinsePressure => process.rinse_pressure.map(Found::Number),
            Self::RinseTemperature => process.rinse_temperature.map(Found::Number),
            Self::DeveloperForm => process.developer.map(|d| Found::Word(d.word())),
            Self::DeveloperCoat => process.coat.map(|c| Found::Word(c.word())),
            Self::Developing => None,
            Self::Light => process.light.map(Found::Number),
            Self::Retest => process.retest.map(|r| Found::Word(r.word())),
        }
    }
}
