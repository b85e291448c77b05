//! What the bike's own record says of the jetting.

pub(in crate::report) mod text;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::learning::posterior::Chances;
use crate::advice::learning::verdicts::Judged;
use crate::advice::learning::{
    Adviser, Evidence, Foretold, LearnedAnswer, SizeChance, Witness, ZoneVerdict, choose,
};
use crate::advice::rejet::{Rejet, ZoneAdvice};
use crate::notebook::ZONES;
use crate::quantity::{fixed, trimmed};
use crate::report::out::figure::Figure;

/// What the bike's own record says of the jetting.
#[derive(Serialize, JsonSchema)]
pub struct RecordAnswer<'a> {
    /// The sizes at hand around the advised one, what is fitted next and what is in the bike, leanest first, with their chances at full
    /// throttle by the bike's own record: main jets by number, or trims in percent. Empty where the record says nothing or was left out.
    pub(super) sizes: Vec<SizeOdds>,
    /// Chance that the advised size is lean at full throttle, 0 to 1; null where the record says nothing or no size is advised.
    pub(super) lean_risk: Option<Figure<4>>,
    /// The most chance of lean that was taken, 0 to 1; null where the record says nothing.
    pub(super) lean_risk_limit: Option<Figure<4>>,
    /// How much the bike's own record had to say.
    pub(super) evidence: RecordShare,
    /// The exponent: as learned, or theory's where the record says nothing.
    pub(super) exponent: ExponentSaid<'a>,
    /// The size that theory alone advises; null where it advises none.
    pub(super) theory_size: Option<f64>,
    /// The size that would be right in this air, of a jet that need not exist; null where the record says nothing.
    pub(super) right_size: Option<RightSize>,
    /// The size that the record would fit if no lean run held a throttle below full; null where none does, where one holds full throttle, or
    /// where it would fit the same.
    pub(super) by_the_record: Option<f64>,
    /// The run that would tell most; null where the record says nothing.
    pub(super) test_run: Option<NextRun>,
    /// What is delivered by throttle zone; empty with injection.
    zones: Vec<ZoneOdds>,
    /// The outings that spoke, oldest first.
    heard: Vec<HeardOuting<'a>>,
    /// What it is told from.
    #[serde(skip)]
    pub(super) told: RecordReport<'a>,
}

/// One size and its chances at full throttle.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SizeOdds {
    /// Main jet by its number, or trim in percent.
    pub(super) size: f64,
    /// Chance that a run on it is lean or slightly lean, 0 to 1.
    pub(super) p_lean: Figure<4>,
    /// Chance that a run on it is right, 0 to 1.
    pub(super) p_right: Figure<4>,
    /// Chance that a run on it is rich or slightly rich, 0 to 1.
    pub(super) p_rich: Figure<4>,
    /// Whether a lean run forbids it, whatever its chances.
    pub(super) held: bool,
    /// Whether it is advised.
    #[serde(skip)]
    pub(super) advised: bool,
}

/// How much a record had to say.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct RecordShare {
    /// Outings that spoke.
    outings: usize,
    /// Share of what is known of full throttle in this air that is record: 0 all theory, 1 all record.
    pub(super) weight_of_record: Figure<4>,
}

/// How a size follows the fuel.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct ExponentSaid<'a> {
    /// Percent of the main jet's number, or of the open time, for one percent of fuel.
    pub(super) mean: Figure<4>,
    /// Its standard deviation.
    pub(super) sd: Figure<4>,
    /// Other bikes of the garage with the same carburetor that it started from.
    with_bikes: &'a [String],
}

/// The size that would be right.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct RightSize {
    /// Its mean.
    pub(super) mean: Figure<2>,
    /// 5 % lie below.
    pub(super) low: Figure<2>,
    /// 5 % lie above.
    pub(super) high: Figure<2>,
}

/// The run that would tell most.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct NextRun {
    /// Size to run.
    pub(super) size: f64,
    /// Relative standard deviation of the right amount of fuel now.
    pub(super) doubt: Figure<5>,
    /// The same to be expected after the run was judged.
    pub(super) doubt_after: Figure<5>,
}

/// A throttle zone: what it gets, and its chances.
#[derive(Debug, Serialize, JsonSchema)]
struct ZoneOdds {
    /// Throttle zone.
    #[schemars(extend("enum" = zone_names()))]
    zone: &'static str,
    /// How rich (positive) or lean (negative) it is on the setup that the answer starts from, percent of fuel: what is on the bike may be
    /// another one.
    if_left_percent: Figure<2>,
    /// The same with what is advised.
    if_fitted_percent: Figure<2>,
    /// Verdicts heard.
    verdicts: usize,
    /// Chance of lean with what is advised, 0 to 1; null where the record says nothing.
    p_lean: Option<Figure<4>>,
    /// Chance of right.
    p_right: Option<Figure<4>>,
    /// Chance of rich.
    p_rich: Option<Figure<4>>,
}

/// An outing that spoke.
#[derive(Debug, Serialize, JsonSchema)]
struct HeardOuting<'a> {
    /// Identity of the outing.
    outing: &'a str,
    /// The cylinder it was seen at, where that is another than the one the answer is for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    cylinder: Option<&'a str>,
    /// Setup it ran.
    #[schemars(range(min = 1))]
    setup: u32,
    /// Factor on the fuel that its air and fuel wanted, against the baseline's.
    factor: Figure<5>,
    /// What its verdicts count, 0 to 1.
    weight: Figure<4>,
    /// Why they do not count in full; empty where they do.
    why: String,
    /// Its verdicts.
    verdicts: Vec<HeardVerdict>,
}

/// A verdict that was heard.
#[derive(Debug, Serialize, JsonSchema)]
struct HeardVerdict {
    /// Throttle zone.
    #[schemars(extend("enum" = zone_names()))]
    zone: &'static str,
    /// How it was judged; "lean" where the notes say that it seized or pinged.
    #[schemars(extend("enum" = Judged::ALL.map(judged_words)))]
    judged: &'static str,
    /// Fuel it delivered there over the baseline's.
    delivered: Figure<5>,
}

fn zone_names() -> [&'static str; ZONES.len()] {
    ZONES.map(|(zone, _, _)| zone)
}

/// What a record is told from.
#[derive(Clone, Copy)]
pub struct RecordReport<'a> {
    /// What it says; none where no outing speaks.
    pub learned: Option<&'a LearnedAnswer>,
    /// The model it was computed with.
    pub adviser: &'a Adviser,
    /// The outings; none where the record was not asked.
    pub evidence: Option<&'a Evidence>,
    /// What theory alone would fit at full throttle.
    pub theory: Option<f64>,
    /// The verdicts foretold one by one, where the numbers are asked for.
    pub foretold: Option<&'a [Foretold]>,
    /// Whether the bike is injected, so that a size is a trim.
    pub injected: bool,
    /// Whether a lean run forbids going leaner.
    pub is_held: bool,
    /// The least fuel that one leaves allowed at full throttle, over the baseline's.
    pub least: Option<f64>,
}

impl<'a> RecordAnswer<'a> {
    /// What a record says beside an advice.
    pub fn new(told: RecordReport<'a>, rejet: &Rejet) -> Self {
        let learned = told.learned;
        let exponent = learned.map_or_else(|| told.adviser.shape.theory(), |learned| learned.exponent);
        let sizes = learned.map_or(&[][..], |learned| learned.sizes.as_slice());
        let pooled = told.adviser.record.as_ref().and_then(|record| record.garage.as_ref());
        let witnesses = told.evidence.map_or(&[][..], |evidence| evidence.witnesses.as_slice());
        Self {
            sizes: sizes.iter().map(|size| SizeOdds::new(size, told.least)).collect(),
            lean_risk: learned.and_then(|learned| learned.lean_risk).map(Figure),
            lean_risk_limit: learned.and_then(|learned| learned.limit).map(Figure),
            evidence: RecordShare {
                outings: learned.map_or(0, |learned| learned.outings),
                weight_of_record: Figure(learned.map_or(0.0, |learned| learned.weight_of_record)),
            },
            exponent: ExponentSaid {
                mean: Figure(exponent.mean),
                sd: Figure(exponent.sd),
                with_bikes: pooled.map_or(&[], |pooled| &pooled.bikes),
            },
            theory_size: told.theory,
            right_size: learned.and_then(|learned| learned.right).map(|(mean, low, high)| RightSize {
                mean: Figure(mean),
                low: Figure(low),
                high: Figure(high),
            }),
            by_the_record: learned.filter(|_| told.is_held && told.least.is_none()).and_then(|learned| {
                let own = choose(&learned.priced)?.candidate.size;
                let fit = rejet.main()?.advised?;
                (own < fit * (1.0 - 1e-9)).then_some(own)
            }),
            test_run: learned.and_then(|learned| learned.test_run).map(|run| NextRun {
                size: run.size,
                doubt: Figure(run.doubt),
                doubt_after: Figure(run.doubt_after),
            }),
            zones: rejet.zones.iter().map(|zone| ZoneOdds::new(zone, learned)).collect(),
            heard: witnesses.iter().map(HeardOuting::from).collect(),
            told,
        }
    }
}

impl SizeOdds {
    fn new(size: &SizeChance, least: Option<f64>) -> Self {
        let Chances { lean, right, rich } = size.chances;
        Self {
            size: size.size,
            p_lean: Figure(lean),
            p_right: Figure(right),
            p_rich: Figure(rich),
            held: least.is_some_and(|least| size.delivered < least),
            advised: size.advised,
        }
    }
}

impl ZoneOdds {
    fn new(zone: &ZoneAdvice, learned: Option<&LearnedAnswer>) -> Self {
        let heard = learned.and_then(|learned| learned.zones.iter().find(|heard| heard.zone == zone.zone));
        let chances = heard.and_then(|heard| heard.chances);
        Self {
            zone: zone.zone,
            if_left_percent: Figure(zone.left_percent),
            if_fitted_percent: Figure(zone.fitted_percent),
            verdicts: heard.map_or(0, |heard| heard.verdicts),
            p_lean: chances.map(|chances| Figure(chances.lean)),
            p_right: chances.map(|chances| Figure(chances.right)),
            p_rich: chances.map(|chances| Figure(chances.rich)),
        }
    }
}

impl<'a> From<&'a Witness> for HeardOuting<'a> {
    fn from(witness: &'a Witness) -> Self {
        Self {
            outing: &witness.outing.id,
            cylinder: witness.cylinder.as_deref(),
            setup: witness.setup,
            factor: Figure(witness.factor),
            weight: Figure(witness.weight.total),
            why: witness.weight.words(),
            verdicts: witness.verdicts.iter().map(HeardVerdict::from).collect(),
        }
    }
}

impl From<&ZoneVerdict> for HeardVerdict {
    fn from(verdict: &ZoneVerdict) -> Self {
        Self {
            zone: verdict.zone,
            judged: judged_words(verdict.judged),
            delivered: Figure(verdict.delivered),
        }
    }
}

pub(super) fn judged_words(judged: Judged) -> &'static str {
    match judged {
        Judged::Lean => "lean",
        Judged::SlightlyLean => "slightly lean",
        Judged::Right => "right",
        Judged::SlightlyRich => "slightly rich",
        Judged::Rich => "rich",
    }
}

/// A chance in whole percent, never shown as certain: "<1 %", "23 %", ">99 %".
pub(super) fn percent(chance: f64) -> String {
    match 100.0 * chance {
        low if low > 0.0 && low < 0.5 => "<1 %".to_owned(),
        high if high < 100.0 && high > 99.5 => ">99 %".to_owned(),
        other => format!("{} %", fixed(other, 0)),
    }
}

/// A limit as the tuner wrote it.
pub(super) fn percent_trimmed(chance: f64) -> String {
    format!("{} %", trimmed(100.0 * chance, 1))
}
