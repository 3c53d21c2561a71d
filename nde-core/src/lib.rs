//! Rules for judging penetrant indications: sizes in millimetres go in, a verdict with its
//! reasons comes out.
//!
//! No pixels, no files, no clock: every function here is pure. Seeing the indications is the
//! work of `nde-measure`.
//!
//! ```
//! use nde_core::{Indication, JudgeOptions, Length, RuleSet, Verdict, judge};
//!
//! // Two marks on a chainplate: 4.9 mm x 4 mm and 1.2 mm x 0.3 mm.
//! let mm = |text| Length::parse_mm(text);
//! let marks = [
//!     Indication::typed("1", mm("4.9")?, mm("4")?),
//!     Indication::typed("2", mm("1.2")?, mm("0.3")?),
//! ];
//! let rules = RuleSet::from_limits(&["relevant=1.5mm".parse()?, "rounded=5mm".parse()?])?;
//! let judgement = judge(&marks, &rules, &JudgeOptions::default())?;
//! assert_eq!(judgement.verdict, Verdict::Accept);
//! assert!(judgement.indications[1].reason.starts_with("not relevant"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! The rooms, in the order things flow:
//!
//! ```text
//! length -> root -> side -> source -> place -> dot -> ground -> doubt -> indication -> shape
//!        -> joining -> alignment -> window -> rules -> verdict -> technique -> calls
//! ```
//!
//! # Where to start
//!
//! | to | call |
//! | --- | --- |
//! | take or read a rule set | [`RuleSet::builtin`] ([`rules::builtin_ids`]), [`RuleSet::parse`], [`RuleSet::from_limits`]; the file form: [`rules`] |
//! | judge a list | [`judge`]; of a photo with its checks: [`JudgeOptions::with_gates`] |
//! | lay a person's calls over it | [`calls::judge_called`] |
//! | hold a process against a technique | [`technique::check`], [`ProcessCheck::held_with`] |
//!
//! `examples/own_rules.rs` does all four. Lengths are whole nanometres inside ([`Length`]); angles are millionths
//! of a degree (`_udeg`), from x towards y, y down.
//!
//! # Features
//! `serde` (default): a [`Judgement`], an [`Indication`] and a picture's checks ([`Gate`]) with all they hold can be
//! written and read back, a length as whole nanometres.
//!
//! # Does not
//! Choose the criteria for you, or tell relevant from non-relevant indications.

mod length;

mod root;

mod side;

mod source;

mod place;

mod dot;

mod ground;

mod doubt;

mod indication;

mod shape;

mod joining;

mod alignment;

mod window;

pub mod rules;

mod verdict;

pub mod technique;

pub mod calls;

pub use doubt::{Doubt, Gate, GateOutcome, Weight};
pub use indication::{Indication, Relevance, Shape};
pub use length::{Length, LengthError, Measured, Spread};
pub use place::{Place, Point};
pub use rules::{Limit, LimitError, OwnLimitsError, RuleSet, RuleSetError};
pub use shape::{LinearPast, ShapeCall, call_shape, length_over_width};
pub use side::{Ratio, Side};
pub use source::{Confidence, Source};
pub use technique::{Process, ProcessCheck, Technique};
pub use verdict::{Finding, Guard, JudgeError, JudgeOptions, Judged, Judgement, Verdict, judge};
