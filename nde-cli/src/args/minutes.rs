//! When a photo of a series was taken, minutes after some moment.

/// Not a number of minutes.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is no number of minutes; write one for each photo, such as 5,7.5,20")]
pub(crate) struct MinutesError {
    text: String,
}

/// Reads one number of minutes.
///
/// # Errors
/// It is none.
pub(crate) fn minutes(text: &str) -> Result<f64, MinutesError> {
    let number = text.trim().parse::<f64>().ok().filter(|minutes| minutes.is_finite());
    number.ok_or_else(|| MinutesError { text: text.to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_is_named_with_the_remedy() {
        assert_eq!([" 7.5", "-3"].map(minutes), [Ok(7.5), Ok(-3.0)]);
        for text in ["a", "", "5 min", "nan", "inf", "10:05"] {
            let said = minutes(text).unwrap_err().to_string();
            assert!(said.starts_with(&format!("`{text}` is no number of minutes; ")), "{said}");
        }
    }
}
