//! The text of a new sheet: every key, what is known filled in, the words that are known beside it.

use nde_core::technique::{Developer, DeveloperCoat, Flaw, Form, Material, Removal, Retest};
use std::fmt::Write as _;

/// What is known of a new sheet; absent is left empty in it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Blank {
    /// The part's name.
    pub part: Option<String>,
    /// Drawing or serial number.
    pub number: Option<String>,
    /// Material's word.
    pub material: Option<String>,
    /// Form's word.
    pub form: Option<String>,
    /// Technique.
    pub technique: Option<String>,
    /// Rule set.
    pub rules: Option<String>,
    /// Scale.
    pub scale: Option<String>,
    /// Who tests.
    pub tested_by: Option<String>,
    /// Temperature.
    pub temperature: Option<String>,
    /// Light.
    pub light: Option<String>,
    /// Zones and their photos.
    pub zones: Vec<(String, Vec<String>)>,
}

/// The sheet's text.
#[must_use]
pub(crate) fn blank(known: &Blank) -> String {
    let mut text = String::from(
        "# Inspection sheet of a visible penetrant test. \"\" means: not recorded.\n\
         # Write texts between the quotes. A time (with its zone, 2026-05-04T10:05:00+02:00), true and false\n\
         # take the place of the quotes.\n\
         # `nde sheet check` says what is missing, `nde sheet run` logs the times as they happen.\n",
    );
    let line = |text: &mut String, key: &str, value: Option<&str>, about: &str| {
        let value = quoted(value.unwrap_or_default());
        let about = if about.is_empty() { String::new() } else { format!("  # {about}") };
        let _ = writeln!(text, "{key} = {value}{about}"); // a String takes everything
    };
    let head = |text: &mut String, name: &str| {
        let _ = writeln!(text, "\n[{name}]");
    };
    fn either<T: Copy>(all: &[T], word: fn(T) -> &'static str) -> String {
        all.iter().map(|it| word(*it)).collect::<Vec<_>>().join(", ")
    }
    let t = &mut text;
    head(t, "part");
    line(t, "name", known.part.as_deref(), "");
    line(t, "number", known.number.as_deref(), "drawing or serial number");
    line(t, "material", known.material.as_deref(), &either(Material::ALL, Material::word));
    line(t, "form", known.form.as_deref(), &either(Form::ALL, Form::word));
    let _ = writeln!(t, "looked_for = []  # {}", either(Flaw::ALL, Flaw::word));
    line(t, "surface", None, "such as ground, as cast, polished");
    line(t, "bare", None, "true or false: paint and coatings off");
    line(t, "area", None, "what of the part is under test");
    head(t, "procedure");
    line(t, "document", None, "the written procedure and its revision");
    line(
        t,
        "technique",
        known.technique.as_deref(),
        "an id from `nde rules`, or a file beside this one",
    );
    line(t, "rules", known.rules.as_deref(), "an id from `nde rules`, or a file beside this one");
    t.push_str("limits = []  # your own, such as \"linear=3mm\"\n");
    line(t, "scale", known.scale.as_deref(), "what is in the frame, such as card:99.2,99.4");
    line(t, "calls", None, "your calls, such as calls.csv");
    line(t, "retest", None, &either(Retest::ALL, Retest::word));
    head(t, "people");
    line(t, "tested_by", known.tested_by.as_deref(), "");
    line(t, "evaluated_by", None, "");
    line(t, "qualification", None, "such as the scheme and level");
    head(t, "materials");
    line(t, "one_family", None, "true or false: all of one maker's approved family");
    line(t, "halogen", None, "by weight, from the certificate, such as 0.01 %");
    line(t, "sulfur", None, "");
    for name in ["cleaner", "penetrant", "developer"] {
        head(t, &format!("materials.{name}"));
        line(t, "product", None, "");
        line(t, "batch", None, "");
        if name == "penetrant" {
            line(t, "dwell", None, "least dwell the maker states, such as 10 min");
        }
    }
    head(t, "conditions");
    line(t, "temperature", known.temperature.as_deref(), "of the part, such as 21 C or 70 F");
    line(t, "light", known.light.as_deref(), "on the part, such as 1100 lx or 100 fc");
    line(t, "light_meter", None, "");
    let step = |t: &mut String, name: &str, start: &str, end: &str| {
        head(t, &format!("steps.{name}"));
        line(t, "start", None, start);
        line(t, "end", None, end);
    };
    step(t, "clean", "", "last cleaner wiped off");
    line(t, "blown_dry", None, "true or false");
    line(t, "margin", None, "how far around the area, such as 25 mm");
    step(t, "penetrant", "penetrant on", "its removal begins");
    line(t, "dried", None, "true or false: it dried on the part");
    step(t, "remove", "", "");
    line(t, "method", None, &either(Removal::ALL, Removal::word));
    line(t, "pressure", None, "of a rinse, such as 250 kPa");
    line(t, "temperature", None, "of a rinse");
    step(t, "develop", "developer goes on", "developer is on");
    line(t, "dry", None, "when its coat was dry");
    line(t, "form", None, &either(Developer::ALL, Developer::word));
    line(t, "coat", None, &either(DeveloperCoat::ALL, DeveloperCoat::word));
    step(t, "read", "first look", "last look");
    step(t, "post_clean", "", "");
    head(t, "camera");
    line(t, "zone", None, "zone of its clock, such as +02:00, where photos do not tell");
    line(t, "fast", None, "how far its clock runs ahead, such as 90 s");
    line(t, "slow", None, "");
    for (name, photos) in &known.zones {
        t.push_str("\n[[zone]]\n");
        line(t, "name", Some(name), "");
        let photos: Vec<String> = photos.iter().map(|p| quoted(p)).collect();
        let _ = writeln!(t, "photos = [{}]", photos.join(", "));
    }
    if known.zones.is_empty() {
        t.push_str(
            "\n# What must be photographed, once for each zone; a zone without a photo is \"not inspected\".\n\
             # [[zone]]\n# name = \"upper eye\"\n# photos = [\"upper-eye.jpg\"]\n# height = \"8mm\"  # of its surface above the scale's plane\n",
        );
    }
    text
}

/// As TOML writes a text.
fn quoted(text: &str) -> String {
    toml_edit::Value::from(text).to_string().trim().to_owned()
}
