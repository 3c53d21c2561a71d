//! What a list of indications must be before it is judged.

use std::collections::HashSet;

use crate::ground::Ground;
use crate::indication::Indication;
use crate::length::{Length, Spread};

/// Most indications judged at once.
const MOST: usize = 50_000;

/// Why a list of indications cannot be judged.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum JudgeError {
    /// Two indications of one name.
    #[error("two indications are called `{id}`; give each its own id")]
    DuplicateId {
        /// The name.
        id: String,
    },
    /// An indication without a name.
    #[error("indication number {number} has no id; give it one")]
    NoId {
        /// Its number in the list, from 1.
        number: usize,
    },
    /// A length of zero.
    #[error("indication `{id}` has no length; measure it, or leave it out")]
    NoLength {
        /// Its name.
        id: String,
    },
    /// A width of zero.
    #[error("indication `{id}` has no width; measure it, or give the least that can be seen")]
    NoWidth {
        /// Its name.
        id: String,
    },
    /// A typed length below the width.
    #[error(
        "indication `{id}` is {length} long and {width} wide; the length is the larger of the two"
    )]
    LengthBelowWidth {
        /// Its name.
        id: String,
        /// Its length.
        length: Length,
        /// Its width.
        width: Length,
    },
    /// A rule asks where indications lie, and one has no place.
    #[error(
        "the rule `{rule}` needs places and indication `{id}` has none; give the columns x_mm,y_mm,angle_deg"
    )]
    PlaceNeeded {
        /// The rule's name.
        rule: String,
        /// The indication's name.
        id: String,
    },
    /// A place without points, or further than 100 m from the origin.
    #[error(
        "the place of indication `{id}` is empty or further than 100 m away; check its columns"
    )]
    NoSuchPlace {
        /// Its name.
        id: String,
    },
    /// More indications than are judged at once.
    #[error("{count} indications are more than the {most} judged at once; split the list")]
    TooMany {
        /// How many came.
        count: usize,
        /// How many are judged at once.
        most: usize,
    },
}

pub(super) fn check(indications: &[Indication]) -> Result<(), JudgeError> {
    if indications.len() > MOST {
        return Err(JudgeError::TooMany { count: indications.len(), most: MOST });
    }
    let mut ids = HashSet::new();
    for (i, indication) in indications.iter().enumerate() {
        let id = indication.id.clone();
        let (length, width) = (indication.length.value, indication.width.value);
        let typed =
            indication.length.spread == Spread::Exact && indication.width.spread == Spread::Exact;
        if id.trim().is_empty() {
            return Err(JudgeError::NoId { number: i + 1 });
        }
        if !ids.insert(indication.id.as_str()) {
            return Err(JudgeError::DuplicateId { id });
        }
        if length == Length::ZERO {
            return Err(JudgeError::NoLength { id });
        }
        if width == Length::ZERO {
            return Err(JudgeError::NoWidth { id });
        }
        if typed && length < width {
            return Err(JudgeError::LengthBelowWidth { id, length, width });
        }
        if indication.place.as_ref().is_some_and(|place| Ground::new(place).is_none()) {
            return Err(JudgeError::NoSuchPlace { id });
        }
    }
    Ok(())
}
