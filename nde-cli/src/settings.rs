//! The words of the command line, resolved and checked once.

use crate::args::{GuardChoice, SeeingArgs, WeldArgs};
use crate::degrees::Degrees;
use crate::near::meant;
use anyhow::{Result, anyhow, bail};
use nde_core::{Gate, Guard, JudgeOptions, Limit, RuleSet, rules, technique};
use nde_measure::{MeasureOptions, ScaleSpec};
use std::io::Read as _;
use std::path::Path;

/// Most bytes of a rule file. Chosen: the shipped ones are under 4 kB.
const MOST_RULE_BYTES: u64 = 1 << 20;

/// How photos are read.
#[derive(Clone, Debug)]
pub(crate) struct Seeing {
    /// What is in the frame; empty: a card is looked for.
    pub scale: Vec<ScaleSpec>,
    /// Settings of the measuring chain.
    pub options: MeasureOptions,
}

impl Seeing {
    /// From the command line.
    #[must_use]
    pub(crate) fn resolve(args: &SeeingArgs) -> Self {
        let mut options = MeasureOptions::default();
        options.scale = options.scale.with_height(args.height);
        options.region_px = args.region.iter().map(|r| r.corners_px().to_vec()).collect();
        Self { scale: args.scale.clone(), options }
    }
}

/// What is judged by.
#[derive(Clone, Debug)]
pub(crate) struct Criteria {
    /// The rule set, own limits included; absent: nothing is judged.
    pub rules: Option<RuleSet>,
    /// What uncertainty does near a limit.
    pub guard: Guard,
    /// What some rules ask beside the indications.
    pub weld: WeldArgs,
}

impl Criteria {
    /// From the command line.
    ///
    /// # Errors
    /// A rule set that is not known or not readable, or limits that do not go together.
    pub(crate) fn resolve(
        rules: Option<&str>,
        limits: &[Limit],
        guard: GuardChoice,
        weld: &WeldArgs,
    ) -> Result<Self> {
        let guard = match guard {
            GuardChoice::AcceptSide => Guard::AcceptSide,
            GuardChoice::AsMeasured => Guard::AsMeasured,
        };
        let rules = match (rules, limits) {
            (None, []) => None,
            (None, limits) => {
                Some(RuleSet::from_limits(limits).map_err(|e| anyhow!("--limit: {e}"))?)
            }
            (Some(name), limits) => {
                let set = rule_set(name)?;
                Some(set.with_limits(limits).map_err(|e| anyhow!("--limit: {e}"))?)
            }
        };
        Ok(Self { rules, guard, weld: weld.clone() })
    }
}

impl Criteria {
    /// How to judge, for a picture of this fitness.
    #[must_use]
    pub(crate) fn options(&self, gates: &[Gate]) -> JudgeOptions {
        let mut options = JudgeOptions::default();
        options.guard = self.guard;
        options.gates = gates.to_vec();
        options.thickness = self.weld.thickness;
        options.weld_axis_udeg = self.weld.weld_axis.map(Degrees::udeg);
        options.weld_length = self.weld.weld_length;
        options
    }
}

/// One text for everything that a photo's results depend on beside its bytes: two runs with the same
/// text give the same results.
#[must_use]
pub(crate) fn run_text(seeing: &Seeing, criteria: &Criteria) -> String {
    let rules = criteria.rules.as_ref().map(|set| (set.id(), set.text()));
    let (version, sources) = (env!("CARGO_PKG_VERSION"), env!("NDE_SOURCES"));
    let (guard, weld) = (criteria.guard, &criteria.weld);
    format!("nde {version} {sources}\n{seeing:?}\n{guard:?}\n{weld:?}\n{rules:?}")
}

/// A built-in rule set, or the one in a file.
///
/// # Errors
/// It is neither, or the file cannot be read as a rule set.
pub(crate) fn rule_set(name: &str) -> Result<RuleSet> {
    if let Some(set) = RuleSet::builtin(name) {
        return Ok(set);
    }
    let path = Path::new(name);
    if !path.exists() {
        bail!("{}", unknown(name));
    }
    rule_file(path)
}

/// A built-in rule set, or the one in a file of the folder `dir`.
///
/// # Errors
/// See [`rule_set`].
pub(crate) fn rule_set_beside(name: &str, dir: &Path) -> Result<RuleSet> {
    let path = dir.join(name);
    match RuleSet::builtin(name) {
        None if path.is_file() => rule_file(&path),
        _ => rule_set(name),
    }
}

/// Why a name is no rule set, and what it may have been meant for.
fn unknown(name: &str) -> String {
    if technique::builtin_ids().any(|id| id == name) {
        return format!(
            "`{name}` is a technique, which says how a test is done; it stands in the sheet (nde sheet new --technique {name}), and a rule set from `nde rules` judges"
        );
    }
    if rules::template_ids().any(|id| id == name) {
        return format!(
            "`{name}` is a template with gaps; start your own file from it: nde rules new FILE --from {name}"
        );
    }
    format!(
        "`{name}` is neither a built-in rule set nor a file{}; `nde rules` lists the built-in ones, `nde rules new FILE` starts your own",
        meant(name, rules::builtin_ids())
    )
}

/// The rule set in a file. Its fault is named as `file:line:column`.
///
/// # Errors
/// It cannot be read as a rule set.
pub(crate) fn rule_file(path: &Path) -> Result<RuleSet> {
    let shown = path.display();
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(MOST_RULE_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|e| anyhow!("{shown}: cannot be read ({e}); check the name"))?;
    if bytes.len() as u64 > MOST_RULE_BYTES {
        bail!("{shown}: is larger than 1 MB; check that this is a rule file");
    }
    let text = String::from_utf8(bytes)
        .map_err(|_| anyhow!("{shown}: is not UTF-8 text; check that this is a rule file"))?;
    RuleSet::parse(&text)
        .map_err(|e| anyhow!("{shown}:{}:{}: {}; {}", e.line(), e.column(), e.fact(), e.remedy()))
}
