//! Reading one `[[reject]]`.

use super::amounts::{Reading, count, share};
use super::{shape, source, words};
use crate::length::Length;
use crate::rules::reader::{Fault, Table, meant};
use crate::rules::rule::{Joined, Members, Rule, Test};

const KINDS: [&str; 9] = [
    "any",
    "length",
    "width",
    "row",
    "spacing",
    "count",
    "total-length",
    "total-area",
    "weld-share",
];

const SHARED: [&str; 7] = ["name", "kind", "of", "label", "joined", "source", "confidence"];

pub(super) fn reject(reading: &Reading, table: &Table<'_>) -> Result<Rule, Fault> {
    let kind = table.must("kind", "\"length\"")?;
    let only = |own: &[&str]| table.only(&[&SHARED[..], own].concat());
    let test = match kind.it {
        "any" => {
            only(&[])?;
            Test::Any
        }
        "length" => {
            only(&["length", "by_thickness"])?;
            Test::Length(reading.size(table, "length")?)
        }
        "width" => {
            only(&["width", "by_thickness"])?;
            Test::Width(reading.size(table, "width")?)
        }
        "row" => {
            only(&["count", "gap", "strip"])?;
            Test::Row {
                count: count(table, 2, "\">= 4\"")?,
                gap: reading.small(table, "gap", "\"<= 1.5 mm\"")?,
                strip: match table.text("strip")? {
                    Some(text) => reading.length(&text, text.it)?.length(),
                    None => Length::ZERO,
                },
            }
        }
        "spacing" => {
            only(&["gap"])?;
            Test::Spacing(reading.small(table, "gap", "\"< 10 mm\"")?)
        }
        "count" => {
            only(&["count", "within"])?;
            Test::Count { count: count(table, 1, "\"> 10\"")?, within: reading.within(table)? }
        }
        "total-length" => {
            only(&["total", "within"])?;
            Test::TotalLength {
                total: reading.large(table, "total", "\"> 75 mm\"")?,
                within: reading.within(table)?,
            }
        }
        "total-area" => {
            only(&["total", "within"])?;
            Test::TotalArea { total: reading.area(table, "total")?, within: reading.within(table)? }
        }
        "weld-share" => {
            only(&["share"])?;
            Test::WeldShare(share(table)?)
        }
        other => {
            return Err(kind.fault(
                format!("`{other}` is not a kind of rule"),
                meant(other, &KINDS)
                    .unwrap_or_else(|| format!("the kinds are {}", KINDS.join(", "))),
            ));
        }
    };
    let name = table.must("name", "\"a short name\"")?.it.trim().to_owned();
    let of = Members {
        shape: shape(table, "of")?,
        labels: words(table, "label")?,
        joined: table.choice(
            "joined",
            &[("either", None), ("yes", Some(Joined::Yes)), ("no", Some(Joined::No))],
        )?,
    };
    Ok(Rule { name, of, test, source: source(table)? })
}
