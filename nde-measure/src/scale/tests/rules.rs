//! A rule whose ticks leave the scale too open: what is said to do about it, done, mends it.

use crate::photo::Stamp;
use crate::scale::ticks::tests::painted::Painted;
use crate::scale::*;

/// What the photo tells of its focal length.
#[derive(Clone, Copy)]
enum Tells {
    Whole,
    Nothing,
    Resized,
}

fn read(painted: &Painted, tells: Tells) -> Result<Scale, ScaleError> {
    let focal_35mm = Some(painted.focal_px / focal_px(1.0, painted.size_px));
    let stamp = match tells {
        Tells::Whole => Stamp { focal_35mm, size_px: Some(painted.size_px), ..Stamp::default() },
        Tells::Nothing => Stamp::default(),
        Tells::Resized => Stamp { focal_35mm, size_px: Some([4400, 3300]), ..Stamp::default() },
    };
    let photo = Photo::from_rgb(painted.photo()).with_stamp(stamp);
    find(&photo, &["ticks:1mm".parse().unwrap()])
}

fn remedy(read: Result<Scale, ScaleError>) -> RuleRemedy {
    match read {
        Err(ScaleError::NoRule { detail, remedy }) => {
            assert!(detail.starts_with("its ticks fix the scale only to "), "{detail}");
            remedy
        }
        other => panic!("not refused as too open: {other:?}"),
    }
}

fn tilted(tilt_deg: f64) -> Painted {
    // A frame as cameras have it: any other counts as cropped.
    let size_px = [1100, 825];
    Painted { size_px, length_mm: 50.0, tilt_deg, tilt_towards_deg: 90.0, ..Painted::default() }
}

#[test]
fn a_rule_seen_too_slanted_is_to_be_seen_square() {
    assert_eq!(remedy(read(&tilted(42.0), Tells::Whole)), RuleRemedy::Square);
    assert!(read(&tilted(20.0), Tells::Whole).is_ok());
}

#[test]
fn a_rule_seen_slanted_in_a_photo_without_a_focal_length_asks_for_that_too() {
    assert_eq!(remedy(read(&tilted(30.0), Tells::Nothing)), RuleRemedy::SquareOrTold);
    assert!(read(&tilted(30.0), Tells::Whole).is_ok());
    assert!(read(&tilted(5.0), Tells::Nothing).is_ok());
}

#[test]
fn a_rule_seen_slanted_in_a_resized_photo_asks_for_the_original() {
    assert_eq!(remedy(read(&tilted(25.0), Tells::Resized)), RuleRemedy::SquareOrOriginal);
    assert!(read(&tilted(25.0), Tells::Whole).is_ok());
    assert!(read(&tilted(5.0), Tells::Resized).is_ok());
}

#[test]
fn a_rule_of_which_little_is_seen_asks_for_more_of_it() {
    let size_px = [1100, 700];
    let slanting = Painted { size_px, tilt_towards_deg: 45.0, ..tilted(40.0) };
    let short = Painted { length_mm: 24.0, ..slanting.clone() };
    assert_eq!(remedy(read(&short, Tells::Nothing)), RuleRemedy::MoreTicks);
    assert!(read(&slanting, Tells::Nothing).is_ok());
}
