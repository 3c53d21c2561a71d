use super::*;

/// A row of ticks by a plain table of lengths (mm) with uneven reading.
fn row(from: i64, to: i64, length: impl Fn(i64) -> f64) -> Vec<TickLength> {
    (from..to)
        .map(|number| {
            let uneven = (number * 7919 % 13 - 6) as f64 * 0.03;
            TickLength { number: number + 40, length: length(number) + uneven }
        })
        .collect()
}

fn millimetres(n: i64) -> f64 {
    if n % 10 == 0 {
        3.0
    } else if n % 5 == 0 {
        1.6
    } else {
        0.0
    }
}

fn halves(n: i64) -> f64 {
    match n {
        n if n % 20 == 0 => 3.0,
        n if n % 10 == 0 => 2.0,
        n if n % 2 == 0 => 0.8,
        _ => 0.0,
    }
}

fn inch(levels: u32) -> impl Fn(i64) -> f64 {
    move |n| 0.8 * f64::from(n.trailing_zeros().min(levels))
}

#[test]
fn each_graduation_is_told_with_its_zero() {
    let told = |lengths: &[TickLength]| recognise(lengths).map(|g| (g.pitch, g.zero - 40));
    for (from, to) in [(3, 97), (-70, 40), (9, 160)] {
        let (pitch, zero) = told(&row(from, to, millimetres)).unwrap();
        assert_eq!((pitch, zero.rem_euclid(10)), (TickPitch::Millimetre, 0));
        let (pitch, zero) = told(&row(from, to, halves)).unwrap();
        assert_eq!((pitch, zero.rem_euclid(20)), (TickPitch::HalfMillimetre, 0));
        let (pitch, zero) = told(&row(from, to, inch(4))).unwrap();
        assert_eq!((pitch, zero.rem_euclid(16)), (TickPitch::InchSixteenth, 0));
        let (pitch, zero) = told(&row(from, to, inch(5))).unwrap();
        assert_eq!((pitch, zero.rem_euclid(32)), (TickPitch::InchThirtySecond, 0));
        let (pitch, zero) = told(&row(2 * from, 2 * to, inch(6))).unwrap();
        assert_eq!((pitch, zero.rem_euclid(64)), (TickPitch::InchSixtyFourth, 0));
    }
}

#[test]
fn what_is_no_graduation_is_not_told() {
    for shift in 0..20 {
        let (low, high) = (shift, shift + 80);
        for length in [
            // Every second millimetre tick only, and every second half-millimetre gap filled.
            (&|n: i64| millimetres(2 * n)) as &dyn Fn(i64) -> f64,
            &|n: i64| if n % 2 == 0 { millimetres(n / 2) } else { 0.0 },
            &|_| 0.0,
            &|n: i64| (n % 2) as f64,
        ] {
            assert_eq!(recognise(&row(low, high, length)), None);
        }
        // One inch is too few.
        assert_eq!(recognise(&row(shift - 12, shift + 12, inch(5))), None);
    }
    assert_eq!(recognise(&[]), None);
    assert_eq!(recognise(&row(1, 9, millimetres)), None);
}

#[test]
fn another_graduation_is_named() {
    let found = Graduated { pitch: TickPitch::Millimetre, zero: 0 };
    let said = found.confirms(TickPitch::InchThirtySecond, 9.0).unwrap_err();
    assert!(said.contains("repeat every 10, not every 32"), "{said}");
    assert!(said.contains("not every 32: this looks like a millimetre rule"), "{said}");
    // Half-millimetre ticks 4.5 px apart may be lost; 9 px apart they are not.
    assert_eq!(found.confirms(TickPitch::HalfMillimetre, 9.0), Ok(found));
    let said = found.confirms(TickPitch::HalfMillimetre, 18.0).unwrap_err();
    assert!(said.contains("repeat every 10, not every 20"), "{said}");
    let fine = Graduated { pitch: TickPitch::HalfMillimetre, zero: 0 };
    assert!(fine.confirms(TickPitch::Millimetre, 5.0).is_err());
}

#[test]
fn two_inches_are_enough_only_if_they_are_alike() {
    let two = |n: i64| if n == 32 { inch(5)(n) + 0.6 } else { inch(5)(n) };
    for (from, to) in [(-20, 50), (-31, 60), (-9, 63)] {
        let found = recognise(&row(from, to, inch(5))).map(|g| g.pitch);
        assert_eq!(found, Some(TickPitch::InchThirtySecond), "{from} to {to}");
        assert_eq!(recognise(&row(from, to, two)), None, "{from} to {to}");
    }
}

/// A glint over one inch tick, numerals that some of them run into: the next graduation looks alike.
#[test]
fn inches_that_differ_make_no_finer_graduation() {
    for (which, by) in [(-32, -1.1), (0, -0.7), (32, -1.6), (64, 1.5), (0, 2.0)] {
        let one = |n: i64| if n == which { inch(5)(n) + by } else { inch(5)(n) };
        let found = recognise(&row(-70, 110, one)).map(|g| g.pitch);
        assert_ne!(found, Some(TickPitch::InchSixtyFourth), "{which} by {by}");
    }
    // Numerals of uneven height on every second inch of sixteenths.
    let numerals = |n: i64| match n {
        0 => inch(4)(n) + 1.9,
        32 => inch(4)(n) + 1.3,
        _ => inch(4)(n),
    };
    let found = recognise(&row(-20, 60, numerals)).map(|g| g.pitch);
    assert_ne!(found, Some(TickPitch::InchThirtySecond));
}
