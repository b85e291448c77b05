//! The package on one axis: a drawing, what disagrees and by how much, and what each figure rests on.

use serde_json::{Value as Json, json};

use crate::advice::derived::{Derived, derived, standings};
use crate::advice::figures::Bench;
use crate::advice::package::{Asks, Package, Row, Standing};
use crate::notebook::fields::names::visible;
use crate::quantity::{Dimension, Units, fixed};
use crate::report::air::reading::rounded;
use crate::report::draw::spans::{Reach, Span, spans};
use crate::report::out::screen::Screen;
use crate::report::words::known::{WHERE_FIELDS_STAND, gap, lacks, with};
use crate::report::words::layout::{capital, grouped, velocity, velocity_band};
use crate::report::words::subject::Subject;

/// A setup's package.
pub struct PackageReport<'a> {
    /// Whose.
    pub subject: &'a Subject,
    /// What was computed.
    pub package: &'a Package,
}

impl PackageReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let pipe = self.package.pipe.as_ref().ok().map(|tuned| {
            json!({
                "rpm": rounded(tuned.rpm, 0),
                "exhaust_deg": rounded(tuned.exhaust_deg, 2),
                "length_mm": rounded(tuned.length_m * 1000.0, 1),
                "wave_m_s": rounded(tuned.wave_m_s, 1),
                "gas_c": rounded(tuned.gas_k - 273.15, 1),
                "rpm_per_kelvin": rounded(tuned.rpm_per_kelvin, 2),
            })
        });
        let rows: Vec<Json> = self.package.rows.iter().map(row_json).collect();
        with(self.subject.json(), json!({ "pipe": pipe, "rows": rows, "not_known": self.not_known() }))
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "the package");
        lines.push(String::new());
        let upright = self.package.pipe.as_ref().ok().map(|tuned| (tuned.rpm, "pipe"));
        let rows: Vec<Span> = self.package.rows.iter().map(span).collect();
        lines.push(spans("rpm", &rows, upright, screen.width()));
        lines.push(String::new());
        lines.extend(self.verdicts().iter().map(|words| screen.wrap(words, 2)));
        let lacking = self.not_known();
        lines.extend(lacking.iter().map(|words| screen.wrap(words, 2)));
        if !lacking.is_empty() {
            lines.push(screen.wrap(WHERE_FIELDS_STAND, 0));
        }
        let rests = self.rests(screen);
        if !rests.is_empty() {
            lines.push(String::new());
            lines.push("What it rests on:".into());
            lines.extend(rests.iter().map(|words| screen.wrap(words, 4)));
        }
        lines.push(screen.wrap(
            "A speed computed from geometry is a place to start from: the dyno and the track decide.",
            0,
        ));
        lines.join("\n")
    }

    /// What agrees with the pipe, and what does not and by how much.
    fn verdicts(&self) -> Vec<String> {
        let Ok(tuned) = &self.package.pipe else {
            return vec!["The pipe's tuned speed is not known, so nothing can be held against it.".into()];
        };
        let mut words = vec![format!("The pipe is tuned to {} rpm.", grouped(tuned.rpm))];
        let agree: Vec<&str> = self
            .package
            .rows
            .iter()
            .filter(|row| row.standing == Some(Standing::Agrees))
            .map(|row| row.part)
            .collect();
        if !agree.is_empty() {
            words.push(format!("Agree with it: {}.", agree.join(", ")));
        }
        words.extend(self.package.rows.iter().filter_map(disagreement));
        if !self.package.agreement_known {
            words.push("How near is near enough is not set: [agreement] in configs/assumptions.toml.".into());
        }
        words
    }

    /// What the rows rest on; rows that rest on the same are told together.
    fn rests(&self, screen: &Screen) -> Vec<String> {
        let mut told: Vec<(String, Vec<&str>)> = Vec::new();
        for row in self.package.rows.iter().filter(|row| row.asks.is_ok() && !row.assumption.is_empty()) {
            let source = visible(row.source.trim_end_matches('.'));
            let assumption = match row.velocities {
                Some(band) => format!("squish velocity {}", velocity_band(screen.units(), band)),
                None => row.assumption.clone(),
            };
            let words = if source.is_empty() { assumption } else { format!("{assumption} ({source})") };
            match told.iter_mut().find(|(said, _)| *said == words) {
                Some((_, parts)) => parts.push(row.part),
                None => told.push((words, vec![row.part])),
            }
        }
        told.into_iter().map(|(words, parts)| format!("  {}: {words}.", parts.join("; "))).collect()
    }

    fn not_known(&self) -> Vec<String> {
        lacks(self.package.rows.iter().map(|row| (row.part, gap(&row.asks))))
            .into_iter()
            .map(|words| capital(&words))
            .collect()
    }
}

fn span(row: &Row) -> Span {
    let reach = match row.asks {
        // The retard goes on from where it begins, and the limiter leaves everything below it.
        Ok(Asks::Speed(speed)) if row.part == "ignition retard" => Reach::From(speed),
        Ok(Asks::Speed(speed)) if row.part == "limiter" => Reach::UpTo(speed),
        Ok(Asks::Speed(speed)) => Reach::At(speed),
        Ok(Asks::Span(from, to)) => Reach::Between(from, to),
        Err(_) => Reach::NotKnown,
    };
    Span { label: row.part.to_owned(), reach, note: String::new() }
}

/// Parts whose windows may be larger than the pipe's speed needs: that is room in hand, no disagreement.
const AREAS: [&str; 4] = ["exhaust area", "transfers", "blowdown", "intake window"];

fn disagreement(row: &Row) -> Option<String> {
    let (distance, side) = match row.standing? {
        Standing::Above(distance) => (grouped(distance), "above"),
        Standing::Below(distance) => (grouped(distance), "below"),
        Standing::Agrees | Standing::Pipe => return None,
    };
    let part = row.part;
    Some(match (AREAS.contains(&part), side, row.place) {
        (true, "above", _) => {
            format!("Room in hand: {part}, enough for {distance} rpm more than the pipe's speed by its band.")
        }
        (true, _, _) => {
            format!("Disagrees: {part}, enough for {distance} rpm less than the pipe's speed by its band.")
        }
        (false, _, Some((from, to))) => format!(
            "Disagrees: {part}, {distance} rpm {side} its place beside the pipe, {} to {} rpm.",
            grouped(from),
            grouped(to)
        ),
        (false, _, None) if part == "squish" => {
            let faster = if side == "above" { "slower" } else { "faster" };
            format!(
                "Disagrees: squish, {distance} rpm {side} the pipe's speed: there it is {faster} than its band."
            )
        }
        (false, _, None) => format!("Disagrees: {part}, {distance} rpm {side} the pipe's speed."),
    })
}

fn row_json(row: &Row) -> Json {
    let (from, to) = match row.asks {
        Ok(Asks::Speed(speed)) => (Some(speed), Some(speed)),
        Ok(Asks::Span(from, to)) => (Some(from), Some(to)),
        Err(_) => (None, None),
    };
    let whole = |rpm: Option<f64>| rpm.map(|rpm| rounded(rpm, 0));
    let (standing, distance) = match row.standing {
        None => (None, None),
        Some(Standing::Pipe) => (Some("pipe"), None),
        Some(Standing::Agrees) => (Some("agrees"), None),
        Some(Standing::Above(distance)) => (Some("above"), Some(distance)),
        Some(Standing::Below(distance)) => (Some("below"), Some(distance)),
    };
    json!({
        "part": row.part,
        "from_rpm": whole(from),
        "to_rpm": whole(to),
        "standing": standing,
        "distance_rpm": whole(distance),
        "assumption": row.assumption,
        "source": row.source,
        "needs": row.asks.as_ref().err().map(ToString::to_string),
    })
}

/// What follows from a supposition, computed, one line each.
pub fn follows(was: &Bench<'_>, is: &Bench<'_>, units: Units) -> Vec<String> {
    let figures = derived(was, is).iter().map(|one| derived_words(one, units)).collect::<Vec<_>>();
    figures.into_iter().chain(standings(was, is)).collect()
}

/// What follows from a change, one line each: "exhaust opens 1.8 deg earlier (79.3 to 77.5 deg after top)".
pub(in crate::report) fn derived_words(one: &Derived, units: Units) -> String {
    let one = &as_shown(one, units);
    let show = |value: f64| if one.decimals == 0 { grouped(value) } else { fixed(value, one.decimals) };
    let unit = if one.unit.is_empty() { String::new() } else { format!(" {}", one.unit) };
    match (one.old, one.new) {
        (Some(old), Some(new)) => {
            // Of the figures as they are shown, so that the sum can be done in the head.
            let printed = |value: f64| fixed(value, one.decimals).parse().unwrap_or(value);
            let difference = printed(new) - printed(old);
            let word = if difference > 0.0 { one.words.0 } else { one.words.1 };
            let short = one.unit.split(' ').next().unwrap_or_default();
            let by = format!("{} {short}", show(difference.abs()));
            format!("{} {} {word} ({} to {}{unit})", one.figure, by.trim(), show(old), show(new))
        }
        (None, Some(new)) => format!("{}: {}{unit}, not known before", one.figure, show(new)),
        (Some(old), None) => format!("{}: not known now, {}{unit} before", one.figure, show(old)),
        (None, None) => format!("{}: not known", one.figure),
    }
}

/// A figure in the units that are shown: velocities are computed in m/s.
fn as_shown(one: &Derived, units: Units) -> Derived {
    if one.unit != "m/s" {
        return one.clone();
    }
    let shown = |value: f64| velocity(units, value).0;
    let (unit, _) = Dimension::Velocity.display(units);
    Derived { unit, old: one.old.map(shown), new: one.new.map(shown), ..one.clone() }
}
