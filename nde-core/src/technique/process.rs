//! What was done to the part: plain facts, each absent where nobody recorded it.

use super::Quantity;

/// Facts of one test.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Process {
    /// What the part is made of.
    pub material: Option<Material>,
    /// How it was made.
    pub form: Option<Form>,
    /// What is looked for; empty when not recorded.
    pub flaws: Vec<Flaw>,
    /// Temperature of part and penetrant.
    pub surface_temperature: Option<Quantity>,
    /// Whether paint and coatings were off.
    pub bare: Option<bool>,
    /// How far around the tested area was cleaned.
    pub cleaned_margin: Option<Quantity>,
    /// How the cleaner left the part.
    pub drying: Option<Drying>,
    /// Whether all materials are of one maker's approved family.
    pub one_family: Option<bool>,
    /// Halogens in the materials, by weight.
    pub halogen: Option<Quantity>,
    /// Sulfur in the materials, by weight.
    pub sulfur: Option<Quantity>,
    /// From penetrant on to its removal.
    pub dwell: Option<Quantity>,
    /// Least dwell that the penetrant's maker states.
    pub maker_dwell: Option<Quantity>,
    /// Whether the penetrant dried on the part.
    pub penetrant_dried: Option<bool>,
    /// How the excess was taken off.
    pub removal: Option<Removal>,
    /// Pressure of the rinse.
    pub rinse_pressure: Option<Quantity>,
    /// Temperature of the rinse.
    pub rinse_temperature: Option<Quantity>,
    /// Which developer.
    pub developer: Option<Developer>,
    /// How the developer lay.
    pub coat: Option<DeveloperCoat>,
    /// From the developer's application to the first and the last look.
    pub since_applied: Option<Reading>,
    /// From the dry developer coat to the first and the last look.
    pub since_dry: Option<Reading>,
    /// Light on the part while reading.
    pub light: Option<Quantity>,
    /// Whether the part was tested before, and how it was made ready.
    pub retest: Option<Retest>,
}

/// First and last look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// To the first look.
    pub first: Quantity,
    /// To the last look.
    pub last: Quantity,
}

/// How the cleaner left the part before the penetrant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Drying {
    /// Blown dry.
    Blown,
    /// Left to evaporate, from the end of cleaning to the penetrant.
    Evaporated(Quantity),
}

/// A fact out of a few words.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$each:meta])* $variant:ident = $word:literal),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[non_exhaustive]
        pub enum $name { $($(#[$each])* $variant),* }

        impl $name {
            /// All of them, in the order to be offered.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];

            /// As written.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),* }
            }

            /// From its word; absent when it is not known.
            #[must_use]
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|it| it.word() == word)
            }
        }
    };
}

words! {
    /// What the part is made of.
    Material {
        /// Aluminium and its alloys.
        Aluminium = "aluminium",
        /// Magnesium and its alloys.
        Magnesium = "magnesium",
        /// Carbon and low-alloy steel.
        Steel = "steel",
        /// Austenitic stainless steel.
        StainlessSteel = "stainless-steel",
        /// Brass and bronze.
        Bronze = "bronze",
        /// Titanium and its alloys.
        Titanium = "titanium",
        /// Nickel and high-temperature alloys.
        NickelAlloy = "nickel-alloy",
        /// Carbide-tipped tools.
        Carbide = "carbide",
        /// Plastics.
        Plastic = "plastic",
        /// Glass.
        Glass = "glass",
        /// Ceramics.
        Ceramic = "ceramic",
        /// Anything else.
        Other = "other",
    }
}

words! {
    /// How the part was made.
    Form {
        /// Cast.
        Casting = "casting",
        /// Welded or brazed.
        Weld = "weld",
        /// Rolled, forged, extruded, drawn.
        Wrought = "wrought",
    }
}

words! {
    /// What is looked for.
    Flaw {
        /// Cracks of any cause.
        Crack = "crack",
        /// Cracks that grew in service.
        ServiceCrack = "service-crack",
        /// Pores.
        Porosity = "porosity",
        /// Cold shuts of castings.
        ColdShut = "cold-shut",
        /// Lack of fusion of welds.
        LackOfFusion = "lack-of-fusion",
        /// Laps of wrought parts.
        Lap = "lap",
    }
}

words! {
    /// How excess penetrant was taken off.
    Removal {
        /// Dry lint-free cloth, then a cloth lightly wetted with cleaner.
        DryThenDampCloth = "dry-then-damp-cloth",
        /// Dry cloth only.
        DryCloth = "dry-cloth",
        /// A cloth wetted with cleaner from the start.
        DampCloth = "damp-cloth",
        /// Water, for a water-washable penetrant.
        WaterRinse = "water-rinse",
        /// Emulsifier, then water.
        Emulsifier = "emulsifier",
        /// Cleaner sprayed or poured on the part: it washes flaws out.
        CleanerSprayed = "cleaner-sprayed",
    }
}

words! {
    /// Which developer.
    Developer {
        /// Suspended in a solvent, mostly from a can.
        NonAqueous = "non-aqueous",
        /// Suspended in water.
        WaterSuspended = "water-suspended",
        /// Dissolved in water.
        WaterSoluble = "water-soluble",
        /// Dry powder.
        DryPowder = "dry-powder",
    }
}

impl Developer {
    /// Whether it goes on wet.
    #[must_use]
    pub const fn is_wet(self) -> bool {
        !matches!(self, Self::DryPowder)
    }
}

words! {
    /// How the developer lay on the part.
    DeveloperCoat {
        /// Thin and even.
        Thin = "thin",
        /// Thick.
        Thick = "thick",
        /// Wet enough to run.
        Running = "running",
    }
}

words! {
    /// Whether the part was tested before.
    Retest {
        /// First test of this surface.
        First = "first",
        /// Tested again after a full cleaning and the full process.
        FullProcess = "full-process",
        /// Tested again without it.
        Partly = "partly",
    }
}
