//! A part of a list.

use std::str::FromStr;

/// Part `n` of `of`, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Shard {
    n: usize,
    of: usize,
}

/// Not a part.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is no part of a list; write such as 3/8, from 1/8 to 8/8")]
pub(crate) struct ShardError {
    text: String,
}

impl Shard {
    /// Whether the piece at this place of the whole list belongs to it.
    #[must_use]
    pub(crate) const fn holds(self, place: usize) -> bool {
        place % self.of == self.n - 1
    }
}

impl FromStr for Shard {
    type Err = ShardError;

    fn from_str(text: &str) -> Result<Self, ShardError> {
        let parts = text.split_once('/').and_then(|(n, of)| {
            let (n, of) = (n.trim().parse().ok()?, of.trim().parse().ok()?);
            (1..=of).contains(&n).then_some(Self { n, of })
        });
        parts.ok_or_else(|| ShardError { text: text.to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_piece_is_in_one_part() {
        let parts: Vec<Shard> = ["1/3", "2/3", "3/3"].map(|t| t.parse().unwrap()).to_vec();
        for place in 0..10 {
            assert_eq!(parts.iter().filter(|part| part.holds(place)).count(), 1);
        }
        for text in ["0/3", "4/3", "1/0", "3", "-1/3", "a/b"] {
            assert!(text.parse::<Shard>().is_err(), "{text}");
        }
    }
}
