//! The limits of a tolerance zone, or of a hole and a shaft.

use schemars::JsonSchema;
use serde::Serialize;

use crate::engine::fits::Interference;
use crate::engine::fits::zone::{HoleOrShaft, Limits, ToleranceZone};
use crate::quantity::Dimension;
use crate::report::building::tightness::FitTightness;
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::parts::word::{Word, Worded};
use crate::report::words::layout::table;
use crate::report::words::sizes::{self, FINE, short_length};

/// A zone, or a hole and a shaft, at a size.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ZoneAnswer {
    /// Nominal size, mm.
    size_mm: Figure<4>,
    /// The zone, or the hole and the shaft.
    zones: Vec<ZoneLimits>,
    /// The fit of the hole and the shaft; null for one zone.
    fit: Option<FitTightness>,
}

/// The limits of a zone.
#[derive(Debug, Serialize, JsonSchema)]
struct ZoneLimits {
    /// The zone.
    zone: String,
    /// What it is the zone of.
    of: Word<HoleOrShaft>,
    /// Lower limit deviation, mm.
    lower_deviation_mm: Figure<4>,
    /// Upper limit deviation, mm.
    upper_deviation_mm: Figure<4>,
    /// The least diameter allowed at 20 C, mm.
    least_mm: Figure<4>,
    /// The most allowed, mm.
    most_mm: Figure<4>,
}

impl Worded for HoleOrShaft {
    const ALL: &'static [Self] = &[Self::Hole, Self::Shaft];

    fn word(&self) -> &'static str {
        match self {
            Self::Hole => "hole",
            Self::Shaft => "shaft",
        }
    }
}

impl ZoneLimits {
    fn of((zone, limits): &(ToleranceZone, Limits)) -> Self {
        Self {
            zone: zone.to_string(),
            of: Word(zone.side()),
            lower_deviation_mm: Figure(limits.lower_deviation_m * 1e3),
            upper_deviation_mm: Figure(limits.upper_deviation_m * 1e3),
            least_mm: Figure(limits.least_m * 1e3),
            most_mm: Figure(limits.most_m * 1e3),
        }
    }
}

impl ZoneAnswer {
    /// Zones with their limits at a nominal size, m, and the fit of the two.
    pub fn new(size_m: f64, zones: &[(ToleranceZone, Limits)], fit: Option<&Interference>) -> Self {
        Self {
            size_mm: Figure(size_m * 1e3),
            zones: zones.iter().map(ZoneLimits::of).collect(),
            fit: fit.map(FitTightness::from),
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let units = screen.units();
        let unit = sizes::unit(Dimension::Length, units);
        let rows = self.zones.iter().map(|limits| {
            vec![
                format!("{}, {}", limits.zone, limits.of.0.word()),
                sizes::length(limits.least_mm.0, units, FINE),
                sizes::length(limits.most_mm.0, units, FINE),
                sizes::offset(limits.lower_deviation_mm.0, units, FINE),
                sizes::offset(limits.upper_deviation_mm.0, units, FINE),
            ]
        });
        let head = [
            &*format!("{} at 20 C, {unit}", short_length(self.size_mm.0, units, FINE)),
            "least",
            "most",
            "lower",
            "upper",
        ];
        let mut lines = vec![table(&head, rows.collect(), &[1, 2, 3, 4], screen.width())];
        if let Some(fit) = &self.fit {
            let words = format!(
                "Fit: {}: {} at least, {} in the mean, {} at most (+ is tight, - is loose).",
                fit.kind.0.word(),
                sizes::offset(fit.least_mm.0, units, FINE),
                sizes::offset(fit.mean_mm.0, units, FINE),
                sizes::offset(fit.most_mm.0, units, FINE)
            );
            lines.push(screen.wrap(&words, 2));
        }
        lines.push("ISO 286-1:2010, limits as printed (read second hand).".into());
        lines.join("\n")
    }
}
