//! Reading numbers with their sides and units.

use crate::rules::amount::{AreaBound, Band, ShareBound, Size, WrittenArea};
use crate::rules::reader::{At, Fault, Table};
use crate::rules::within::Within;
use crate::rules::written::{CountBound, LengthBound, Unit, Written, split_side};
use crate::side::{Ratio, Side};
use crate::window::Placed;

/// Reads lengths in the one unit of a set.
pub(super) struct Reading {
    pub(super) unit: Unit,
}

impl Reading {
    /// A bound that catches large lengths.
    pub(super) fn large(
        &self,
        table: &Table<'_>,
        key: &str,
        example: &str,
    ) -> Result<LengthBound, Fault> {
        let text = table.must(key, example)?;
        let (side, rest) = large_side(&text, key, example)?;
        Ok(LengthBound { side, limit: self.length(&text, rest)? })
    }

    /// A bound that catches small lengths.
    pub(super) fn small(
        &self,
        table: &Table<'_>,
        key: &str,
        example: &str,
    ) -> Result<LengthBound, Fault> {
        let text = table.must(key, example)?;
        match split_side(text.it) {
            Some((side, rest)) if !side.catches_large() => {
                Ok(LengthBound { side, limit: self.length(&text, rest)? })
            }
            found => Err(wrong_side(&text, found.map(|f| f.0), key, example)),
        }
    }

    /// A size limit: fixed, a share of the thickness, or by bands of thickness.
    pub(super) fn size(&self, table: &Table<'_>, key: &str) -> Result<Size, Fault> {
        const BANDS: &str = "by_thickness";
        if !table.has(BANDS) {
            let text = table.must(key, "\"> 5 mm\"")?;
            return self.one_size(&text, key);
        }
        if table.has(key) {
            return Err(table
                .must(key, "")?
                .fault(format!("`{key}` and `{BANDS}` stand side by side"), "keep one of them"));
        }
        let mut bands = Vec::new();
        for band in table.tables(BANDS)? {
            band.only(&["thickness", key])?;
            let text = band.must("thickness", "\"<= 16 mm\"")?;
            let Some((side, rest)) = split_side(text.it) else {
                return Err(wrong_side(&text, None, "thickness", "\"<= 16 mm\""));
            };
            let thickness = LengthBound { side, limit: self.length(&text, rest)? };
            let limit = Box::new(self.one_size(&band.must(key, "\"> 5 mm\"")?, key)?);
            bands.push(Band { thickness, limit });
        }
        Ok(Size::ByThickness(bands))
    }

    fn one_size(&self, text: &At<&str>, key: &str) -> Result<Size, Fault> {
        let example = "\"> 5 mm\" or \"> 1/4 t\"";
        let (side, rest) = large_side(text, key, example)?;
        if let Some(number) = rest.strip_suffix('t') {
            let ratio = Ratio::parse(number).ok_or_else(|| {
                text.fault(
                    format!("`{rest}` is no share of the thickness"),
                    format!("write it such as {example}"),
                )
            })?;
            return Ok(Size::OfThickness(side, ratio));
        }
        Ok(Size::Fixed(LengthBound { side, limit: self.length(text, rest)? }))
    }

    pub(super) fn area(&self, table: &Table<'_>, key: &str) -> Result<AreaBound, Fault> {
        let example = "\"> 100 mm2\"";
        let text = table.must(key, example)?;
        let (side, rest) = large_side(&text, key, example)?;
        Ok(AreaBound { side, limit: self.written_area(&text, rest)? })
    }

    /// The frame of a rule, where it has one.
    pub(super) fn within(&self, table: &Table<'_>) -> Result<Option<Within>, Fault> {
        let Some(frame) = table.table("within")? else { return Ok(None) };
        let placed = |frame: &Table<'_>| {
            frame.choice(
                "placed",
                &[("any direction", Placed::AnyDirection), ("along axes", Placed::AlongAxes)],
            )
        };
        let longer_than_zero = |text: &At<&str>| {
            let length = self.length(text, text.it)?;
            if length.length().nm() == 0 {
                return Err(text.fault("a frame has no size", "write its side or diameter"));
            }
            Ok(length)
        };
        if frame.has("area") {
            frame.only(&["area", "longest_side", "placed"])?;
            let text = frame.must("area", "\"6 in2\"")?;
            let area = self.written_area(&text, text.it)?;
            let side = frame.must("longest_side", "\"6 in\"")?;
            let longest_side = longer_than_zero(&side)?;
            let most = u128::from(longest_side.length().nm());
            if most * most < area.nm2() {
                return Err(side.fault(
                    format!("no rectangle of {area} has all sides up to {longest_side}"),
                    "check both numbers",
                ));
            }
            Ok(Some(Within::Rectangle { area, longest_side, placed: placed(&frame)? }))
        } else if frame.has("circle") {
            frame.only(&["circle"])?;
            Ok(Some(Within::Circle(longer_than_zero(&frame.must("circle", "\"90 mm\"")?)?)))
        } else if frame.has("weld_length") {
            frame.only(&["weld_length"])?;
            Ok(Some(Within::WeldLength(longer_than_zero(
                &frame.must("weld_length", "\"300 mm\"")?,
            )?)))
        } else {
            frame.only(&["sides", "placed"])?;
            let sides = frame.texts("sides")?;
            let [a, b] = &sides[..] else {
                return Err(Fault::new(
                    frame.at(),
                    "the frame is not known",
                    "write within = { area = \"..\", longest_side = \"..\" }, { sides = [\"..\", \"..\"] }, { circle = \"..\" } or { weld_length = \"..\" }",
                ));
            };
            let sides = [longer_than_zero(a)?, longer_than_zero(b)?];
            Ok(Some(Within::Frame { sides, placed: placed(&frame)? }))
        }
    }

    fn written_area(&self, place: &At<&str>, text: &str) -> Result<WrittenArea, Fault> {
        blank(place, text)?;
        let area = WrittenArea::parse(text).map_err(|fact| {
            place.fault(fact, "write a number with its unit, such as 100 mm2 or 6 in2")
        })?;
        self.same_unit(place, text, area.unit())?;
        Ok(area)
    }

    pub(super) fn length(&self, place: &At<&str>, text: &str) -> Result<Written, Fault> {
        blank(place, text)?;
        let example = match self.unit {
            Unit::Millimetre => "1.5 mm",
            Unit::Inch => "1/16 in",
        };
        let written = Written::parse(text).map_err(|fact| {
            place.fault(fact, format!("write a number with its unit, such as {example}"))
        })?;
        self.same_unit(place, text, written.unit())?;
        Ok(written)
    }

    fn same_unit(&self, place: &At<&str>, text: &str, unit: Unit) -> Result<(), Fault> {
        if unit == self.unit {
            return Ok(());
        }
        Err(place.fault(
            format!("`{text}` is not in the unit of this set (`{}`)", self.unit.word()),
            "copy the number from the document in that unit; never convert it",
        ))
    }
}

pub(super) fn count(table: &Table<'_>, fewest: usize, example: &str) -> Result<CountBound, Fault> {
    let text = table.must("count", example)?;
    let wrong = |fact: String| text.fault(fact, format!("write it such as {example}"));
    let (side, number) = large_side(&text, "count", example)?;
    blank(&text, number)?;
    let plain =
        !number.is_empty() && number.len() <= 6 && number.bytes().all(|b| b.is_ascii_digit());
    let limit = if plain { number.parse().ok() } else { None };
    let limit = limit.ok_or_else(|| wrong(format!("`{number}` is not a whole number")))?;
    let bound = CountBound { side, limit };
    if bound.fewest() < fewest {
        return Err(wrong(format!("`{}` catches fewer than {fewest}", text.it)));
    }
    Ok(bound)
}

pub(super) fn share(table: &Table<'_>) -> Result<ShareBound, Fault> {
    let example = "\"> 8 %\"";
    let text = table.must("share", example)?;
    let (side, rest) = large_side(&text, "share", example)?;
    blank(&text, rest)?;
    let percent = rest.strip_suffix('%').and_then(Ratio::parse).ok_or_else(|| {
        text.fault(format!("`{rest}` is not a share"), format!("write it such as {example}"))
    })?;
    Ok(ShareBound { side, percent })
}

/// A template's gap to fill in.
pub(super) fn blank(place: &At<&str>, text: &str) -> Result<(), Fault> {
    if text.contains('?') {
        return Err(place.fault(
            format!("`{text}` is not filled in"),
            "copy the number and its side from your own copy of the document",
        ));
    }
    Ok(())
}

fn large_side<'a>(text: &At<&'a str>, key: &str, example: &str) -> Result<(Side, &'a str), Fault> {
    match split_side(text.it) {
        Some((side, rest)) if side.catches_large() => Ok((side, rest)),
        found => {
            blank(text, text.it)?;
            Err(wrong_side(text, found.map(|f| f.0), key, example))
        }
    }
}

fn wrong_side(text: &At<&str>, side: Option<Side>, key: &str, example: &str) -> Fault {
    match side {
        Some(side) => text.fault(
            format!("`{}` is the wrong way round for `{key}`", side.sign()),
            format!("write it such as {example}"),
        ),
        None if text.it.contains(['\u{2264}', '\u{2265}']) => text.fault(
            format!("`{}` has a sign that is not read here", text.it),
            format!("write >= or <= in two letters, such as {example}"),
        ),
        None => text.fault(
            format!("`{}` does not say what happens at the limit", text.it),
            format!("write the sign with it, such as {example}"),
        ),
    }
}
