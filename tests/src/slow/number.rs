//! Exact numbers: a whole number over a whole number, of any size; and the side of a bound.

use num_bigint::BigInt;
use std::cmp::Ordering;
use std::ops::{Add, Mul, Sub};

/// A rational number. Not reduced: sums here are short.
#[derive(Clone, Debug)]
pub struct Exact {
    over: BigInt,
    /// Above zero.
    under: BigInt,
}

impl Exact {
    /// `over / under`.
    ///
    /// # Panics
    /// When `under` is not above zero.
    #[must_use]
    pub fn new(over: impl Into<BigInt>, under: impl Into<BigInt>) -> Self {
        let (over, under) = (over.into(), under.into());
        assert!(under > BigInt::from(0), "a denominator is above zero");
        Self { over, under }
    }

    /// A whole number.
    #[must_use]
    pub fn whole(value: impl Into<BigInt>) -> Self {
        Self { over: value.into(), under: BigInt::from(1) }
    }

    /// From `3`, `2.5`, `3/16` or `1 3/16`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut sum = Self::whole(0);
        for part in text.split_whitespace() {
            let value = if let Some((over, under)) = part.split_once('/') {
                let under: i64 = under.parse().ok().filter(|n| *n > 0)?;
                Self::new(over.parse::<i64>().ok()?, under)
            } else {
                let (whole, decimals) = part.split_once('.').unwrap_or((part, ""));
                let under = BigInt::from(10).pow(u32::try_from(decimals.len()).ok()?);
                Self::new(format!("{whole}{decimals}").parse::<i64>().ok()?, under)
            };
            sum = &sum + &value;
        }
        Some(sum)
    }

    /// The largest whole number not above it.
    #[must_use]
    pub fn floor(&self) -> BigInt {
        let down = &self.over / &self.under;
        // Division cuts towards zero.
        if self.over < BigInt::from(0) && &down * &self.under != self.over {
            down - 1
        } else {
            down
        }
    }

    /// Whether it is a whole number.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.over.clone() % &self.under == BigInt::from(0)
    }

    /// As nanometres that fit a list, rounded down.
    ///
    /// # Panics
    /// When it is beyond any length of a list.
    #[must_use]
    pub fn nm(&self) -> i64 {
        i64::try_from(self.floor()).expect("lengths of a list fit")
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> Ordering {
        (&self.over * &other.under).cmp(&(&other.over * &self.under))
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Exact {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Exact {}

impl Add for &Exact {
    type Output = Exact;
    fn add(self, other: Self) -> Exact {
        let over = &self.over * &other.under + &other.over * &self.under;
        Exact { over, under: &self.under * &other.under }
    }
}

impl Sub for &Exact {
    type Output = Exact;
    fn sub(self, other: Self) -> Exact {
        let over = &self.over * &other.under - &other.over * &self.under;
        Exact { over, under: &self.under * &other.under }
    }
}

impl Mul for &Exact {
    type Output = Exact;
    fn mul(self, other: Self) -> Exact {
        Exact { over: &self.over * &other.over, under: &self.under * &other.under }
    }
}

/// Whether `a + b sqrt(c)` is at most zero, for `c` from zero upwards.
#[must_use]
pub fn at_most_zero(a: &BigInt, b: &BigInt, c: &BigInt) -> bool {
    let zero = BigInt::from(0);
    let (squared, root) = (a * a, b * b * c);
    match (*a <= zero, *b <= zero) {
        (true, true) => true,
        (true, false) => root <= squared,
        (false, true) => squared <= root,
        (false, false) => false,
    }
}

/// Which side of a limit counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// `>`
    Over,
    /// `>=`
    AtLeast,
    /// `<`
    Under,
    /// `<=`
    AtMost,
}

/// A limit with its side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bound {
    /// Which side counts.
    pub sign: Sign,
    /// The limit, in nanometres where it is a length.
    pub limit: Exact,
}

impl Bound {
    /// Whether a value is caught.
    #[must_use]
    pub fn catches(&self, value: &Exact) -> bool {
        match self.sign {
            Sign::Over => *value > self.limit,
            Sign::AtLeast => *value >= self.limit,
            Sign::Under => *value < self.limit,
            Sign::AtMost => *value <= self.limit,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_exact() {
        let number = |text| Exact::parse(text).expect("a number");
        assert_eq!(&number("0.3") * &number("3"), number("0.9"));
        assert_eq!(number("1 3/16"), number("19/16"));
        assert!(number("0.188") > number("3/16"));
        assert_eq!(Exact::new(-7, 2).floor(), BigInt::from(-4));
        assert!(Exact::parse("1/0").is_none() && Exact::parse("?").is_none());
    }

    #[test]
    fn roots_are_compared_by_their_squares() {
        let holds = |a: i64, b: i64, c: i64| at_most_zero(&a.into(), &b.into(), &c.into());
        assert!(holds(6, -2, 9) && !holds(7, -2, 9) && holds(5, -2, 9));
        assert!(holds(-6, 2, 9) && !holds(-5, 2, 9) && holds(-7, 2, 9));
        assert!(holds(0, 1, 0) && !holds(0, 1, 2) && !holds(1, 0, 5) && holds(-1, -1, 5));
    }
}
