//! What some rules ask beside the indications: the thickness of the part, the weld's axis and length.

use crate::degrees::Degrees;
use clap::Args as ClapArgs;
use nde_core::{Length, LengthError};

/// What some rules ask beside the indications.
#[derive(Clone, Debug, Default, ClapArgs)]
pub(crate) struct WeldArgs {
    /// Thickness of the part, for rules whose limits follow it: 12mm, 1/2in.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub thickness: Option<Length>,
    /// Direction of the weld's axis in degrees from x towards y, for rules that look along the
    /// weld: 0 along x, 90 along y (of the list's columns, or of the scale in the photo).
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    pub weld_axis: Option<Degrees>,
    /// Length of the weld, for rules that take a share of it: 400mm, 16in.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub weld_length: Option<Length>,
}

impl WeldArgs {
    /// Whether any of it was given.
    pub(crate) const fn is_given(&self) -> bool {
        self.thickness.is_some() || self.weld_axis.is_some() || self.weld_length.is_some()
    }
}

/// A length above zero, with its unit.
fn length(text: &str) -> Result<Length, String> {
    let length = Length::parse_with_unit(text).map_err(|error| match error {
        LengthError::NotANumber { .. } => {
            format!("`{text}` is not a length; write a number and its unit, such as 12mm or 1/2in")
        }
        error => error.to_string(),
    })?;
    if length == Length::ZERO {
        return Err(format!(
            "`{text}` is no length that a part or a weld has; give more than zero with its unit, such as 12mm or 1/2in"
        ));
    }
    Ok(length)
}
