//! What a fit comes to, in words: what is assumed, when the case lets go, what to heat, and what to look out for.

use crate::advice::fit::{BEARING_MOST_C, CASE_MOST_C, CeramicFigures, FitAsked, FitFigures, SeatFigures};
use crate::engine::fits::REFERENCE_C;
use crate::quantity::{Units, trimmed};
use crate::report::words::known::line;
use crate::report::words::sizes::{FINE, degrees_up, short_length_with_unit, whole_degrees};

use schemars::JsonSchema;

use serde::Serialize;

/// The source of what nobody wrote down.
pub(super) const PRACTICE: &str = "common practice, no source";

/// Said of every fit. Common practice, no source.
const STANDING: [&str; 3] = [BURNS, COOLS, FREE_PARTS];
const BURNS: &str = "Hot parts burn: wear gloves, and heat in an oven or on a hot plate. No open flame near fuel or fuel vapour, nor on magnesium, whose chips and dust burn fiercely.";
const COOLS: &str = "A hot part cools where it touches: make it a little warmer than it says here, and be quick. Press a bearing only by the ring that is tight, never through the balls.";
const FREE_PARTS: &str = "Limits are those of free parts, without load and speed. Follow the machine's manual and a qualified mechanic.";
const TOO_HOT: &str = "A case hotter than 150 C softens, and seals and paint suffer: cool what goes in.";
const BEARING_HEAT: &str = "A crank goes in cold into a heated bearing (common practice). A bearing gets 120 C at most, for its steel's sake, and one with seals or a plastic cage what its maker allows: if that is not enough, cool the crank too.";

/// One step at the bench.
pub(super) struct BenchStep {
    /// What the hands do.
    pub(super) hands: String,
    /// What can hurt in it; none where nothing new can.
    pub(super) cautions: Vec<String>,
}

/// The steps at the bench, in their order, each with what can hurt in it.
pub(super) fn steps(units: Units, asked: &FitAsked, figures: &FitFigures) -> Vec<BenchStep> {
    let mut steps: Vec<BenchStep> = Vec::new();
    let step = |hands: String, cautions: Vec<&str>| BenchStep {
        hands,
        cautions: cautions.into_iter().map(str::to_owned).collect(),
    };
    for heat in heats(asked, figures) {
        let (inner, first) = (&heat.inner, steps.is_empty());
        let too_hot = heat.seat.drops_in_c.is_none_or(|to| to > inner.most_c);
        let mut cautions: Vec<&str> = Vec::new();
        cautions.extend(first.then_some(BURNS));
        cautions.extend(heat.of_shaft.then_some(BEARING_HEAT));
        cautions.extend((too_hot && !heat.of_shaft).then_some(TOO_HOT));
        steps.push(step(inner.heat(units, &heat), cautions));
        let puts_in = format!("Put {} in at once and hold it until the seat has cooled.", inner.what);
        steps.push(step(puts_in, if first { vec![COOLS] } else { Vec::new() }));
    }
    let turn = if figures.clearance.is_some() {
        "Cold again, turn it by hand and feel for play."
    } else {
        "Cold again, turn it by hand."
    };
    steps.push(step(turn.to_owned(), of_running(figures)));
    steps
}

/// A part that is made warm, and what goes into it.
struct Heat {
    outer: &'static str,
    inner: GoingIn,
    seat: SeatFigures,
    of_shaft: bool,
}

/// What is made warm, in the order of the bench.
fn heats(asked: &FitAsked, figures: &FitFigures) -> Vec<Heat> {
    let going_in = |what, inner_c, slip_m, most_c| GoingIn { what, inner_c, slip_m, most_c };
    let cooled_c = asked.bearing_cooled_c;
    let with_sleeve = if figures.sleeve.is_some() { "the case with its sleeve" } else { "the case" };
    let into_case = |what| going_in(what, cooled_c, asked.slip_m, CASE_MOST_C);
    let shaft = going_in("the shaft", asked.shaft_cooled_c, asked.shaft_slip_m, BEARING_MOST_C);
    let all = [
        (figures.sleeve, "the case", into_case("the sleeve"), false),
        (figures.case, with_sleeve, into_case("the bearing"), false),
        (figures.shaft, "the bearing", shaft, true),
    ];
    let there = all
        .into_iter()
        .filter_map(|(seat, outer, inner, of_shaft)| Some(Heat { outer, inner, seat: seat?, of_shaft }));
    there.collect()
}

/// When warm parts go loose.
pub(super) fn loose_lines(units: Units, figures: &FitFigures) -> Vec<String> {
    let lines = [
        ("sleeve goes loose", figures.sleeve.map(|seat| lets_go(units, &seat))),
        ("bearing goes loose", figures.case.map(|seat| lets_go(units, &seat))),
    ];
    lines.into_iter().filter_map(|(name, words)| Some(line(name, &Ok(words?)))).collect()
}

/// From which temperature a seat holds nothing any more.
fn lets_go(units: Units, seat: &SeatFigures) -> String {
    let at = |cold_m: f64, nought_c: Option<f64>| match nought_c {
        _ if cold_m <= 0.0 => format!("at {} already", whole_degrees(REFERENCE_C, units)),
        Some(nought) if nought > REFERENCE_C => format!("at {}", whole_degrees(nought, units)),
        _ => "not by heat".to_owned(),
    };
    let (cold, nought) = (&seat.cold, &seat.nought);
    let mean = at(cold.mean_m, nought.mean_c);
    let (least, most) = (at(cold.least_m, nought.least_c), at(cold.most_m, nought.most_c));
    if cold.is_of_measured_parts() || (least == mean && mean == most) {
        return mean;
    }
    format!("loosest parts {least}, mean {mean}, tightest {most}")
}

/// An inner part that goes into a heated outer one.
struct GoingIn {
    what: &'static str,
    inner_c: f64,
    slip_m: f64,
    most_c: f64,
}

impl GoingIn {
    /// How warm to make the outer part so that the tightest of them drops in.
    fn heat(&self, units: Units, heat: &Heat) -> String {
        let (seat, outer) = (&heat.seat, heat.outer);
        let with = format!("{} at {}", self.what, whole_degrees(self.inner_c, units));
        let most = whole_degrees(self.most_c, units);
        let room = short_length_with_unit(1e3 * seat.room_at_most_m.abs(), units, FINE);
        match seat.drops_in_c {
            Some(to) if to <= REFERENCE_C => {
                format!("No heat for {outer}: {} drops in cold ({with}).", self.what)
            }
            Some(to) if to <= self.most_c => {
                format!(
                    "Heat {outer} to {} ({with}, then {} of room).",
                    degrees_up(to, units),
                    short_length_with_unit(1e3 * self.slip_m, units, FINE)
                )
            }
            _ if seat.room_at_most_m >= 0.0 => {
                format!(
                    "Heat {outer} to {most}, the most there is ({with}): the tightest parts then have {room} of room."
                )
            }
            _ => format!(
                "Heat {outer} to {most}, the most there is ({with}): the tightest parts are still {room} too tight."
            ),
        }
    }
}

/// What can be wrong with it as it runs.
fn of_running(figures: &FitFigures) -> Vec<&'static str> {
    let mut cautions: Vec<&str> = Vec::new();
    let may_be_loose = |seat: &Option<SeatFigures>| seat.is_some_and(|seat| seat.running.least_m <= 0.0);
    if may_be_loose(&figures.sleeve) {
        cautions.push("As it runs the sleeve may be loose in the case: it can turn and wear its seat.");
    }
    if may_be_loose(&figures.case) {
        cautions.push(
            "As it runs the bearing may be loose in its seat: the outer ring can creep and wear the case.",
        );
    }
    if may_be_loose(&figures.shaft) {
        cautions
            .push("As it runs the bearing may be loose on the shaft: the inner ring can creep and score it.");
    }
    if figures.clearance.is_some_and(|clearance| clearance.running.least_m < 0.0) {
        cautions.push("As it runs the bearing may be left without clearance: it can run hot and fail. The next looser group or a lighter fit leaves more.");
    }
    cautions
}

/// What to look out for, all of it.
pub(super) fn cautions(figures: &FitFigures) -> Vec<String> {
    let mut cautions = of_running(figures);
    let too_hot = |seat: &Option<SeatFigures>, most_c: f64| {
        seat.is_some_and(|seat| seat.drops_in_c.is_none_or(|to| to > most_c))
    };
    cautions.extend(
        (too_hot(&figures.case, CASE_MOST_C) || too_hot(&figures.sleeve, CASE_MOST_C)).then_some(TOO_HOT),
    );
    cautions.extend(figures.shaft.is_some().then_some(BEARING_HEAT));
    cautions.into_iter().chain(STANDING).map(str::to_owned).collect()
}

/// What stands in for what was left out.
pub(super) fn assumed(
    asked: &FitAsked,
    figures: &FitFigures,
    options: &[&'static str],
    units: Units,
) -> Vec<FitAssumption> {
    let left_out = |option: &str| options.contains(&option);
    let mut assumed = Vec::new();
    let mut practice = |name: &'static str, value: String| {
        assumed.push(FitAssumption { name, value, source: PRACTICE });
    };
    if left_out("--case-at") && figures.case.is_some() {
        practice("--case-at", format!("case and outer ring run at {}", whole_degrees(asked.case_c, units)));
    }
    if left_out("--shaft-at") && figures.shaft.is_some() {
        practice(
            "--shaft-at",
            format!("shaft and inner ring run at {}", whole_degrees(asked.shaft_c, units)),
        );
    }
    let slips = [
        ("into the case", asked.slip_m, figures.case.is_some()),
        ("on the shaft", asked.shaft_slip_m, figures.shaft.is_some()),
    ];
    for (place, slip_m, _) in slips.into_iter().filter(|(.., is)| *is && left_out("--slip")) {
        practice("--slip", format!("{} of room {place}", short_length_with_unit(1e3 * slip_m, units, FINE)));
    }
    if let (Some(sleeve), true) = (asked.sleeve, left_out("--sleeve-passes-on")) {
        practice(
            "--sleeve-passes-on",
            format!("{} of the case's press closes the sleeve's bore", trimmed(sleeve.passed_on, 3)),
        );
    }
    if let Some(clearance) = &figures.clearance {
        for (option, share, part) in
            [("--shaft-share", asked.shaft_share, "shaft"), ("--case-share", asked.case_share, "case")]
        {
            if left_out(option) {
                let share = trimmed(share, 3);
                practice(option, format!("{share} of the press at the {part} goes off the clearance"));
            }
        }
        assumed.extend(clearance.ceramic.filter(|_| left_out("--ball")).map(|ceramic| ball(units, &ceramic)));
    }
    assumed.extend(rings(asked, figures));
    assumed
}

fn ball(units: Units, ceramic: &CeramicFigures) -> FitAssumption {
    FitAssumption {
        name: "--ball",
        value: format!(
            "balls of {}, 0.3 of outside less bore",
            short_length_with_unit(1e3 * ceramic.ball_m, units, FINE)
        ),
        source: "rule from memory, good to a tenth",
    }
}

/// Which of the bearing's diameters are the table's.
fn rings(asked: &FitAsked, figures: &FitFigures) -> Option<FitAssumption> {
    let by_class = [
        ("outside", figures.case.is_some() && asked.measured_outside_m.is_none()),
        ("bore", figures.shaft.is_some() && asked.measured_bore_m.is_none()),
    ];
    let named: Vec<&str> = by_class.into_iter().filter(|(_, is)| *is).map(|(name, _)| name).collect();
    (!named.is_empty()).then(|| FitAssumption {
        name: "bearing",
        value: format!("{} of the bearing as class Normal allows", named.join(" and ")),
        source: "ISO 492, read second hand",
    })
}

/// What is not known, and what it needs.
pub(super) fn not_known(asked: &FitAsked, figures: &FitFigures) -> Vec<String> {
    if figures.clearance.is_some() {
        return Vec::new();
    }
    let needs = [
        ("--case", asked.case.is_none()),
        ("--shaft", asked.shaft.is_none()),
        ("--group or --clearance", asked.clearance.is_none()),
    ];
    let needs: Vec<&str> = needs.into_iter().filter(|(_, is)| *is).map(|(option, _)| option).collect();
    vec![format!("the clearance left in the bearing needs {}", needs.join(", "))]
}

/// What stands in for what was not given.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct FitAssumption {
    /// The option, or the part.
    pub(super) name: &'static str,
    /// What is assumed, with its unit.
    pub(super) value: String,
    /// Where it is from.
    pub(super) source: &'static str,
}
