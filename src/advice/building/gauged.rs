//! A build's readings as sizes at 20 C with their doubt: from the gauge, what it was zeroed on, and how warm everything was.
//!
//! A thermometer that was read is good to 1 K, a temperature that is not said is 20 C give or take 5 K (both rectangular;
//! common practice, no source). Gauges are of steel. Readings of one bore gauge, one micrometer or one inside gauge share
//! its setting and differ by the hand; a feeler, a dial and solder err afresh each time.

use crate::engine::EngineError;
use crate::engine::doubt::{Doubtful, of_resolution, rectangular};
use crate::engine::fits::{Material, REFERENCE_C};
use crate::engine::gauging::bore_map::{BoreAxis, BoreMap, Level};
use crate::engine::gauging::{Zeroed, difference_at_20, hand_and_common, size_at_20};
use crate::notebook::{BoreLevel, Build, CaseMaterial, CylinderMaterial, Gauge, Gauges, Limits, SetOn};
use crate::quantity::Length;

/// How far a temperature that was read may be off, K.
const READ_K: f64 = 1.0;
/// How far 20 C may be off where nobody looked, K.
const ASSUMED_K: f64 = 5.0;

/// Coefficient of linear expansion of a piston whose alloy is not said, 1/K, and how far it may be off: alloys of much silicon
/// have 18 to 21e-6, forgings of little 22 to 23.5e-6 (handbook values from memory; common practice, no source).
const PISTON_PER_K: f64 = 20.75e-6;
const PISTON_OFF_PER_K: f64 = 2.75e-6;
/// The source of that doubt.
const ALLOY: &str = "expansion of the piston's alloy";

/// What a gauge reads, which is also its name in a build.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    Bore,
    Inside,
    Outside,
    Feeler,
    Indicator,
    Solder,
}

impl Role {
    fn word(self) -> &'static str {
        match self {
            Self::Bore => "bore",
            Self::Inside => "inside",
            Self::Outside => "outside",
            Self::Feeler => "feeler",
            Self::Indicator => "indicator",
            Self::Solder => "solder",
        }
    }

    fn of(self, gauges: Option<&Gauges>) -> Option<&Gauge> {
        let gauges = gauges?;
        match self {
            Self::Bore => gauges.bore.as_ref(),
            Self::Inside => gauges.inside.as_ref(),
            Self::Outside => gauges.outside.as_ref(),
            Self::Feeler => gauges.feeler.as_ref(),
            Self::Indicator => gauges.indicator.as_ref(),
            Self::Solder => gauges.solder.as_ref(),
        }
    }

    /// Whether all readings of it share one setting.
    fn is_set_once(self) -> bool {
        matches!(self, Self::Bore | Self::Inside | Self::Outside)
    }
}

/// A build on the bench: its readings, and what gauges are taken to resolve where it does not say it.
pub(super) struct Gauged<'a> {
    pub(super) build: &'a Build,
    pub(super) limits: &'a Limits,
}

impl Gauged<'_> {
    /// Temperature of the parts, C.
    pub(super) fn parts_c(&self) -> Doubtful {
        match &self.build.temperature {
            Some(read) => temperature(read.si() - 273.15, READ_K, "temperature of the parts"),
            None => temperature(REFERENCE_C, ASSUMED_K, "temperature of the parts, not said"),
        }
    }

    fn gauge_c(&self, role: Role) -> Doubtful {
        let read = role.of(self.build.gauges.as_ref()).and_then(|gauge| gauge.temperature.as_ref());
        read.map_or_else(
            || self.parts_c(),
            |read| {
                temperature(read.si() - 273.15, READ_K, &format!("temperature of the {} gauge", role.word()))
            },
        )
    }

    fn gauge_length(&self, role: Role, pick: impl Fn(&Gauge) -> Option<&Length>) -> Option<f64> {
        let own = role.of(self.build.gauges.as_ref()).and_then(&pick);
        let usual = || role.of(self.limits.gauges.as_ref()).and_then(&pick);
        own.or_else(usual).map(Length::si)
    }

    /// The standard uncertainty of a gauge, and what of it is the hand where that is said, m. Both are of the build's gauge
    /// where it states either, so that the hand of one gauge is not taken with the setting of another.
    fn stated_and_hand(&self, role: Role) -> (f64, Option<f64>) {
        let [own, usual] =
            [self.build.gauges.as_ref(), self.limits.gauges.as_ref()].map(|gauges| role.of(gauges));
        let of = |gauge: Option<&Gauge>| {
            let gauge = gauge?;
            let (stated, hand) = (gauge.uncertainty.as_ref(), gauge.repeatability.as_ref());
            (stated.is_some() || hand.is_some()).then(|| (stated.map(Length::si), hand.map(Length::si)))
        };
        let (stated, hand) = of(own).or_else(|| of(usual)).unwrap_or((None, None));
        let stated = stated.or_else(|| usual?.uncertainty.as_ref().map(Length::si));
        (stated.unwrap_or(0.0), hand)
    }

    /// What a gauge showed, with the doubt of the gauge alone, m. Without a word on its resolution the digits that were
    /// written bound it.
    fn reading(&self, role: Role, field: &str, typed: &Length) -> Doubtful {
        let written = typed.quantity();
        let digits = i32::try_from(written.decimals()).unwrap_or(0);
        let last_digit = 10f64.powi(-digits) * (written.si() / written.value()).abs();
        let last_digit = if last_digit.is_finite() { last_digit } else { 1e-5 };
        let resolution = self.gauge_length(role, |gauge| gauge.resolution.as_ref()).unwrap_or(last_digit);
        let read = Doubtful::new(typed.si(), &format!("reading of {field}"), of_resolution(resolution));
        let (stated, hand) = self.stated_and_hand(role);
        let own = format!("hand at {field}");
        if !role.is_set_once() {
            return read.also(&own, hand.map_or(stated, |hand| hand.max(stated)));
        }
        // Ranges of the fields keep both in what can be reckoned with.
        let (hand, common) = hand_and_common(stated, hand).unwrap_or((stated, 0.0));
        read.also(&own, hand).also(&format!("setting of the {} gauge", role.word()), common)
    }

    /// A whole size at 20 C.
    pub(super) fn size(
        &self,
        role: Role,
        field: &str,
        typed: &Length,
        material: Material,
    ) -> Result<Doubtful, EngineError> {
        let steel = Material::Steel.expansion_per_k();
        let read = self.reading(role, field, typed);
        size_at_20(&read, &self.gauge_c(role), steel, &self.parts_c(), material.expansion_per_k())
    }

    /// A small size: what it grows with heat is far below what its gauge tells.
    pub(super) fn small(&self, role: Role, field: &str, typed: &Length) -> Doubtful {
        self.reading(role, field, typed)
    }

    /// A ring's end gap as it is at 20 C, the ring of steel in a bore of this size: a cylinder that grows faster than its
    /// ring opens the gap by π times what the bore grows over it.
    pub(super) fn ring_gap(&self, field: &str, typed: &Length, bore_m: Option<f64>) -> Doubtful {
        let shown = self.small(Role::Feeler, field, typed);
        let Some(bore) = bore_m else { return shown };
        let faster = self.cylinder().expansion_per_k() - Material::Steel.expansion_per_k();
        let warmer = self.parts_c().minus(&Doubtful::exact(REFERENCE_C));
        shown.minus(&warmer.times(std::f64::consts::PI * bore * faster))
    }

    /// The piston at 20 C.
    pub(super) fn piston(&self) -> Result<Option<Doubtful>, EngineError> {
        Ok(self.piston_of_known_alloy()?.map(|piston| {
            let bore_per_k = self.off_per_k() * piston.value();
            piston.also(ALLOY, -self.warmer_k() * bore_per_k)
        }))
    }

    /// The piston at 20 C as if its coefficient were known: what a gauge was zeroed on has been as large as it was.
    fn piston_of_known_alloy(&self) -> Result<Option<Doubtful>, EngineError> {
        let typed = self.build.piston.as_ref().and_then(|piston| piston.diameter.as_ref());
        typed.map(|typed| self.piston_size(Role::Outside, "piston.diameter", typed)).transpose()
    }

    /// A size of the piston at 20 C.
    pub(super) fn piston_size(
        &self,
        role: Role,
        field: &str,
        typed: &Length,
    ) -> Result<Doubtful, EngineError> {
        let steel = Material::Steel.expansion_per_k();
        let read = self.reading(role, field, typed);
        size_at_20(&read, &self.gauge_c(role), steel, &self.parts_c(), self.piston_per_k())
    }

    /// Coefficient of the piston's alloy, 1/K: as said, else the middle of what pistons are cast and forged of.
    fn piston_per_k(&self) -> f64 {
        self.said_per_k().unwrap_or(PISTON_PER_K)
    }

    fn said_per_k(&self) -> Option<f64> {
        Some(1e-6 * self.build.piston.as_ref()?.expansion.as_ref()?.si())
    }

    /// Standard uncertainty of that coefficient, 1/K; one that is said is taken as known.
    fn off_per_k(&self) -> f64 {
        if self.said_per_k().is_some() { 0.0 } else { rectangular(PISTON_OFF_PER_K) }
    }

    /// How far the parts are above 20 C, K.
    fn warmer_k(&self) -> f64 {
        self.parts_c().value() - REFERENCE_C
    }

    pub(super) fn cylinder(&self) -> Material {
        match self.build.cylinder_material.unwrap_or_default() {
            CylinderMaterial::Aluminium => Material::Aluminium,
            CylinderMaterial::CastIron => Material::CastIron,
        }
    }

    pub(super) fn case(&self) -> Material {
        match self.build.case_material.unwrap_or_default() {
            CaseMaterial::Aluminium => Material::Aluminium,
            CaseMaterial::Magnesium => Material::Magnesium,
        }
    }

    /// Whether the bore gauge was zeroed on the piston, so that it shows the clearance.
    pub(super) fn is_zeroed_on_piston(&self) -> bool {
        let gauge = self.build.gauges.as_ref().and_then(|gauges| gauges.bore.as_ref());
        gauge.is_some_and(|gauge| gauge.set_on == Some(SetOn::Piston))
    }

    /// What the bore gauge was zeroed on, where it was.
    fn zeroed(&self) -> Result<Option<Zeroed>, EngineError> {
        let gauge = self.build.gauges.as_ref().and_then(|gauges| gauges.bore.as_ref());
        let Some(gauge) = gauge else { return Ok(None) };
        if gauge.set_on == Some(SetOn::Piston) {
            let on = |piston: Doubtful| Zeroed::on(&piston, &self.parts_c(), self.piston_per_k());
            return self.piston_of_known_alloy()?.map(on).transpose();
        }
        let ring = gauge.set_to.as_ref().map(|size| Doubtful::exact(size.si()));
        ring.map(|size| Zeroed::on_steel_master(&size, &self.gauge_c(Role::Bore))).transpose()
    }

    /// The bore map at 20 C; none where nothing was measured, or where the gauge was zeroed on a piston of no known size.
    pub(super) fn bore_map(&self) -> Result<Option<BoreMap>, EngineError> {
        let zeroed = self.zeroed()?;
        if self.is_zeroed_on_piston() && zeroed.is_none() {
            return Ok(None);
        }
        let mut levels = Vec::new();
        for (name, level) in &self.build.bore {
            let Some(depth) = &level.depth else { continue };
            let mut readings = Vec::new();
            for (axis, word, typed) in axes(level) {
                let field = format!("bore.{name}.{word}");
                let size = match &zeroed {
                    Some(zeroed) => {
                        let difference = self.reading(Role::Bore, &field, typed);
                        difference_at_20(
                            &difference,
                            zeroed,
                            &self.parts_c(),
                            self.cylinder().expansion_per_k(),
                        )?
                    }
                    None => self.size(Role::Bore, &field, typed, self.cylinder())?,
                };
                readings.push((axis, size));
            }
            if !readings.is_empty() {
                levels.push(Level { name: name.clone(), depth_m: depth.si(), readings });
            }
        }
        if levels.is_empty() { Ok(None) } else { BoreMap::new(levels).map(Some) }
    }

    /// The least clearance at 20 C that a gauge zeroed on a piston of no known size shows, with where: a cylinder that grows
    /// otherwise than its piston needs the engine's nominal bore for that.
    pub(super) fn shown_clearance(&self, bore_m: Option<f64>) -> Option<(Doubtful, String)> {
        if !self.is_zeroed_on_piston() {
            return None;
        }
        let faster = self.cylinder().expansion_per_k() - self.piston_per_k();
        // Without a bore, what the two grow apart cannot be told; at 20 C there is nothing of it.
        let bore = bore_m.or((self.warmer_k().abs() < 1e-6 || faster.abs() < 1e-9).then_some(0.0))?;
        let warmer = self.parts_c().minus(&Doubtful::exact(REFERENCE_C));
        let mut least: Option<(Doubtful, String)> = None;
        for (name, level) in &self.build.bore {
            for (axis, word, typed) in axes(level) {
                let shown = self.reading(Role::Bore, &format!("bore.{name}.{word}"), typed);
                let shown = shown.minus(&warmer.times(bore * faster));
                let shown = shown.also(ALLOY, self.warmer_k() * bore * self.off_per_k());
                if least.as_ref().is_none_or(|(known, _)| shown.value() < known.value()) {
                    least = Some((shown, format!("{name}, {}", axis.name())));
                }
            }
        }
        least
    }
}

/// A temperature with how far it may be off, C.
fn temperature(read_c: f64, off_k: f64, source: &str) -> Doubtful {
    Doubtful::new(read_c, source, rectangular(off_k))
}

/// The readings of one depth.
pub(super) fn axes(level: &BoreLevel) -> Vec<(BoreAxis, &'static str, &Length)> {
    let all = [
        (BoreAxis::AlongPin, "along_pin", &level.along_pin),
        (BoreAxis::AcrossPin, "across_pin", &level.across_pin),
        (BoreAxis::DiagonalLeft, "diagonal_left", &level.diagonal_left),
        (BoreAxis::DiagonalRight, "diagonal_right", &level.diagonal_right),
    ];
    all.into_iter().filter_map(|(axis, word, typed)| Some((axis, word, typed.as_ref()?))).collect()
}
