//! A list measured by hand, a rule set of one's own, what a person called, and the process it rests on.
//!
//! ```sh
//! cargo run -p nde-core --example own_rules
//! ```
#![allow(clippy::print_stdout, reason = "an example that prints")]

use nde_core::calls::{CallEvent, judge_called};
use nde_core::technique::{Dimension, Form, Material, Process, Quantity, Technique, check};
use nde_core::{Indication, JudgeOptions, Length, Point, Relevance, RuleSet, Verdict};
use std::error::Error;

/// As a file beside the drawings holds it; `RuleSetError` says line, column, fact and remedy.
const RULES: &str = r#"
id = "loft-toggles"
title = "Cast toggles of the rigging loft"
unit = "mm"

[linear]
length_over_width = "> 3"
source = "drawing 112, note 4"

[relevant]
length = "> 1.5 mm"
source = "drawing 112, note 4"

[[reject]]
name = "linear"
kind = "any"
of = "linear"
source = "drawing 112, note 5"

[[reject]]
name = "large pore"
kind = "length"
of = "rounded"
length = "> 4 mm"
source = "drawing 112, note 5"
"#;

/// The verdict of the list as called, and together with the process.
fn inspected() -> Result<[Verdict; 2], Box<dyn Error>> {
    let rules = RuleSet::parse(RULES)?;
    let mm = Length::parse_mm;
    let measured = [
        Indication::typed("1", mm("3.9")?, mm("2.1")?).at(Point::from_mm(12.0, 4.5), 0),
        Indication::typed("2", mm("6")?, mm("0.4")?).at(Point::from_mm(30.0, 8.0), 90_000_000),
    ];

    // Somebody looks at the second one with a magnifier. Measurement and call both stay.
    let mut scratch = CallEvent::default();
    scratch.id = Some("2".into());
    scratch.at = Some(Point::from_mm(30.0, 8.0));
    scratch.relevance = Some(Relevance::NonRelevant);
    scratch.reason = Some("scratch of the file, seen with a magnifier".into());
    let (_, both) = judge_called(&measured, &[scratch], &rules, &JudgeOptions::default())?;
    println!("as measured {}, as called {}", both.raw.verdict, both.called.verdict);
    for judged in &both.called.indications {
        println!("  {} {}: {} ({})", judged.id, judged.shape, judged.verdict, judged.reason);
    }

    // No verdict is worth more than the test behind it.
    let mut process = Process::default();
    process.material = Some(Material::StainlessSteel);
    process.form = Some(Form::Casting);
    process.dwell = Some(Quantity::parse("12 min", Dimension::Time)?);
    let technique = Technique::builtin("tech-shop-practice").ok_or("it ships")?;
    let kept = check(&process, &technique);
    for obstacle in kept.obstacles() {
        println!("  {}: {}, must hold {}", obstacle.item, obstacle.outcome.word(), obstacle.limit);
    }
    Ok([both.called.verdict, kept.held_with(both.called.verdict)])
}

fn main() -> Result<(), Box<dyn Error>> {
    let [called, held] = inspected()?;
    println!("list: {called}, with the process: {held}");
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_recorded_is_never_accepted() {
        assert_eq!(inspected().expect("it runs"), [Verdict::Accept, Verdict::Review]);
    }
}
