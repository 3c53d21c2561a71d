//! The file form of a sheet. `nde sheet new` writes one with every key.

use super::reader::{At, Faults, SheetFault, Table, from_str};
use super::{
    Camera, Conditions, Materials, Note, Part, People, Procedure, Product, Sheet, Steps, Times,
    Zone, order,
};
use crate::clock::Moment;
use nde_core::technique::{
    Developer, DeveloperCoat, Dimension, Flaw, Form, Material, Quantity, Removal, Retest,
};
use nde_measure::scale::Height;
use std::collections::HashMap;
use toml::de::DeTable;

/// Most bytes of a sheet: far above any real one.
pub(super) const MOST_BYTES: u64 = 1 << 20;
/// Most zones, and most notes.
const MOST_LINES: usize = 10_000;

/// Reads a sheet: all its faults, or the sheet. `now` is the latest moment anything can have happened.
pub(super) fn read(text: &str, now: Option<Moment>) -> Result<Sheet, Vec<SheetFault>> {
    let faults = Faults::of(text);
    let root = match DeTable::parse(text) {
        Ok(root) => root,
        Err(error) => {
            let message = error.message().lines().next().unwrap_or("").trim().to_owned();
            faults.add(
                &error.span().unwrap_or(0..0),
                format!("this is not TOML ({message})"),
                "check quotes, brackets and the way times are written there",
            );
            return Err(faults.take());
        }
    };
    let sheet = whole(&Table::top(&root, &faults), &faults, now);
    let all = faults.take();
    if all.is_empty() { Ok(sheet) } else { Err(all) }
}

fn whole(top: &Table<'_>, faults: &Faults<'_>, now: Option<Moment>) -> Sheet {
    top.only(&[
        "part",
        "procedure",
        "people",
        "materials",
        "conditions",
        "steps",
        "camera",
        "zone",
        "note",
    ]);
    Sheet {
        part: part(&top.table("part")),
        procedure: procedure(&top.table("procedure")),
        people: people(&top.table("people")),
        materials: materials(&top.table("materials")),
        conditions: conditions(&top.table("conditions")),
        steps: steps(&top.table("steps"), faults, now),
        camera: camera(&top.table("camera")),
        zones: zones(top, faults),
        notes: notes(top, faults),
    }
}

fn quantity(table: &Table<'_>, key: &str, dimension: Dimension) -> Option<Quantity> {
    table
        .parsed(key, |text| Quantity::parse(text, dimension).map_err(|e| e.to_string()))
        .map(|it| it.it)
}

fn part(table: &Table<'_>) -> Part {
    table.only(&["name", "number", "material", "form", "looked_for", "surface", "bare", "area"]);
    Part {
        name: table.owned("name"),
        number: table.owned("number"),
        material: table.word("material", Material::ALL, Material::word),
        form: table.word("form", Form::ALL, Form::word),
        looked_for: table.words("looked_for", Flaw::ALL, Flaw::word),
        surface: table.owned("surface"),
        bare: table.answer("bare"),
        area: table.owned("area"),
    }
}

fn procedure(table: &Table<'_>) -> Procedure {
    table.only(&["document", "technique", "rules", "limits", "scale", "calls", "retest"]);
    Procedure {
        document: table.owned("document"),
        technique: table.owned("technique"),
        rules: table.owned("rules"),
        limits: values(table.list("limits", from_str)),
        scale: values(table.list("scale", from_str)),
        calls: table.owned("calls"),
        retest: table.word("retest", Retest::ALL, Retest::word),
    }
}

fn values<T>(list: Vec<At<T>>) -> Vec<T> {
    list.into_iter().map(|it| it.it).collect()
}

fn people(table: &Table<'_>) -> People {
    table.only(&["tested_by", "evaluated_by", "qualification"]);
    People {
        tested_by: table.owned("tested_by"),
        evaluated_by: table.owned("evaluated_by"),
        qualification: table.owned("qualification"),
    }
}

fn materials(table: &Table<'_>) -> Materials {
    table.only(&["cleaner", "penetrant", "developer", "one_family", "halogen", "sulfur"]);
    let product = |key: &str, known: &[&str]| {
        let table = table.table(key);
        table.only(known);
        Product {
            product: table.owned("product"),
            batch: table.owned("batch"),
            dwell: quantity(&table, "dwell", Dimension::Time),
        }
    };
    Materials {
        cleaner: product("cleaner", &["product", "batch"]),
        penetrant: product("penetrant", &["product", "batch", "dwell"]),
        developer: product("developer", &["product", "batch"]),
        one_family: table.answer("one_family"),
        halogen: quantity(table, "halogen", Dimension::Share),
        sulfur: quantity(table, "sulfur", Dimension::Share),
    }
}

fn conditions(table: &Table<'_>) -> Conditions {
    table.only(&["temperature", "light", "light_meter"]);
    Conditions {
        temperature: quantity(table, "temperature", Dimension::Temperature),
        light: quantity(table, "light", Dimension::Light),
        light_meter: table.owned("light_meter"),
    }
}

fn steps(table: &Table<'_>, faults: &Faults<'_>, now: Option<Moment>) -> Steps {
    table.only(&["clean", "penetrant", "remove", "develop", "read", "post_clean"]);
    let [clean, penetrant, remove, develop, read, post] =
        ["clean", "penetrant", "remove", "develop", "read", "post_clean"].map(|k| table.table(k));
    clean.only(&["start", "end", "blown_dry", "margin"]);
    penetrant.only(&["start", "end", "dried"]);
    remove.only(&["start", "end", "method", "pressure", "temperature"]);
    develop.only(&["start", "end", "dry", "form", "coat"]);
    read.only(&["start", "end"]);
    post.only(&["start", "end"]);
    let times = [
        ("clean", &clean),
        ("penetrant", &penetrant),
        ("remove", &remove),
        ("develop", &develop),
        ("read", &read),
        ("post_clean", &post),
    ]
    .map(|(name, table)| (name, [table.moment("start"), table.moment("end")]));
    let dry = develop.moment("dry");
    order::check(&times, dry.as_ref(), now, faults);
    let [clean_t, penetrant_t, remove_t, develop_t, read_t, post_t] =
        times.map(|(_, [s, e])| Times { start: s.map(|it| it.it), end: e.map(|it| it.it) });
    Steps {
        clean: clean_t,
        blown_dry: clean.answer("blown_dry"),
        margin: quantity(&clean, "margin", Dimension::Length),
        penetrant: penetrant_t,
        dried: penetrant.answer("dried"),
        remove: remove_t,
        method: remove.word("method", Removal::ALL, Removal::word),
        pressure: quantity(&remove, "pressure", Dimension::Pressure),
        rinse_temperature: quantity(&remove, "temperature", Dimension::Temperature),
        develop: develop_t,
        dry: dry.map(|it| it.it),
        developer: develop.word("form", Developer::ALL, Developer::word),
        coat: develop.word("coat", DeveloperCoat::ALL, DeveloperCoat::word),
        read: read_t,
        post_clean: post_t,
    }
}

fn camera(table: &Table<'_>) -> Camera {
    table.only(&["zone", "fast", "slow"]);
    let seconds = |key| {
        quantity(table, key, Dimension::Time)
            .and_then(Quantity::milliseconds)
            .map_or(0, |m| m / 1000)
    };
    Camera {
        offset_seconds: table.parsed("zone", zone_offset).map(|it| it.it),
        ahead_seconds: seconds("fast") - seconds("slow"),
    }
}

/// `+02:00`, `-02:30`, `Z`.
fn zone_offset(text: &str) -> Result<i32, String> {
    let fault = || format!("`{text}` is not a zone offset; write it such as +02:00");
    if text == "Z" {
        return Ok(0);
    }
    let (sign, rest) = match (text.strip_prefix('+'), text.strip_prefix('-')) {
        (Some(rest), _) => (1, rest),
        (_, Some(rest)) => (-1, rest),
        _ => return Err(fault()),
    };
    let number = |t: &str| {
        let plain = t.len() == 2 && t.bytes().all(|b| b.is_ascii_digit());
        plain.then(|| t.parse::<i32>().ok()).flatten()
    };
    match rest.split_once(':').map(|(h, m)| (number(h), number(m))) {
        Some((Some(h), Some(m))) if h <= 14 && m < 60 => Ok(sign * (h * 3600 + m * 60)),
        _ => Err(fault()),
    }
}

fn zones(top: &Table<'_>, faults: &Faults<'_>) -> Vec<Zone> {
    let tables = top.tables("zone");
    let mut zones: Vec<Zone> = Vec::new();
    let mut names = HashMap::new();
    let mut photos: HashMap<String, String> = HashMap::new();
    for (n, table) in tables.iter().take(MOST_LINES).enumerate() {
        let (at, table) = (&table.at, &table.it);
        table.only(&["name", "photos", "height", "regions", "scale"]);
        let Some(name) = table.text("name") else {
            faults.add(at, format!("zone {} has no name", n + 1), "add name = \"upper eye\"");
            continue;
        };
        if names.insert(name.it.to_lowercase(), n).is_some() {
            faults.add(
                &name.at,
                format!("two zones are called `{}`", name.it),
                "give each zone a name of its own",
            );
        }
        let own = table.list("photos", plain_name);
        for photo in &own {
            if let Some(first) = photos.insert(photo.it.clone(), name.it.to_owned()) {
                faults.add(
                    &photo.at,
                    format!("`{}` stands already in the zone `{first}`", photo.it),
                    "a photo belongs to one zone; photograph each zone by itself",
                );
            }
        }
        zones.push(Zone {
            name: name.it.to_owned(),
            photos: values(own),
            height: table.parsed("height", from_str::<Height>).map(|it| it.it),
            regions: values(table.list("regions", from_str)),
            scale: values(table.list("scale", from_str)),
        });
    }
    zones
}

/// A file in the sheet's folder, so that a sheet can be moved with its photos.
fn plain_name(text: &str) -> Result<String, String> {
    if text.contains(['/', '\\']) || text == ".." {
        Err(format!("`{text}` lies elsewhere; put the photo beside the sheet and write its name"))
    } else {
        Ok(text.to_owned())
    }
}

fn notes(top: &Table<'_>, faults: &Faults<'_>) -> Vec<Note> {
    let mut notes = Vec::new();
    for table in top.tables("note").iter().take(MOST_LINES) {
        table.it.only(&["at", "text"]);
        match table.it.owned("text") {
            Some(text) => notes.push(Note { at: table.it.moment("at").map(|it| it.it), text }),
            None => {
                faults.add(&table.at, "a note has no text", "add text = \"...\", or take it out")
            }
        }
    }
    notes
}
