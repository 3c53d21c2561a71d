//! The frame that indications are counted or summed in.

use std::fmt;

use crate::length::Length;
use crate::rules::amount::WrittenArea;
use crate::rules::written::Written;
use crate::window::{Frame, Placed};

/// Where indications are taken together; always at its worst place.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Within {
    /// Any rectangle of an area, its longer side up to a limit.
    Rectangle { area: WrittenArea, longest_side: Written, placed: Placed },
    /// A rectangle of fixed sides.
    Frame { sides: [Written; 2], placed: Placed },
    /// A circle of a diameter.
    Circle(Written),
    /// A length of weld, along its axis.
    WeldLength(Written),
}

impl Within {
    /// The frame in the plane; absent for a length of weld.
    pub(crate) fn frame(&self) -> Option<Frame> {
        match self {
            Self::Rectangle { area, longest_side, placed } => Some(Frame::Area {
                nm2: area.nm2(),
                longest: longest_side.length(),
                placed: *placed,
            }),
            Self::Frame { sides, placed } => {
                let [a, b] = sides;
                Some(Frame::Sides { sides: [a.length(), b.length()], placed: *placed })
            }
            Self::Circle(diameter) => Some(Frame::Circle { diameter: diameter.length() }),
            Self::WeldLength(_) => None,
        }
    }

    /// Its length along the weld; absent for a frame in the plane.
    pub(crate) const fn weld_length(&self) -> Option<Length> {
        match self {
            Self::WeldLength(length) => Some(length.length()),
            _ => None,
        }
    }

    pub(crate) fn convention(&self) -> String {
        let middle = "an indication counts where its middle lies inside or on the border";
        let placed = |placed: &Placed| match placed {
            Placed::AnyDirection => "laid at the worst place in any direction",
            Placed::AlongAxes => "laid at the worst place along x and y",
        };
        match self {
            Self::Rectangle { placed: p, .. } => format!(
                "Window: any rectangle of the area whose longer side is within the limit, {}; {middle} (convention: no document seen says more).",
                placed(p)
            ),
            Self::Frame { placed: p, .. } => format!(
                "Window: the frame, {}; {middle} (convention: no document seen says more).",
                placed(p)
            ),
            Self::Circle(_) => {
                format!("Window: the circle at the worst place; {middle} (convention).")
            }
            Self::WeldLength(_) => format!(
                "Window: the length of weld at the worst place along the weld's axis; {middle}, with its whole length (convention)."
            ),
        }
    }
}

impl fmt::Display for Within {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Rectangle { area, longest_side, .. } => {
                write!(f, "any {area} with sides up to {longest_side}")
            }
            Self::Frame { sides: [a, b], .. } => write!(f, "any frame of {a} by {b}"),
            Self::Circle(diameter) => write!(f, "any circle of {diameter}"),
            Self::WeldLength(length) => write!(f, "any {length} of weld"),
        }
    }
}
