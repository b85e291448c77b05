//! The figures of a build, each with its doubt and with what the tuner's limits say of it.

use super::figure::{FigureUnit, NamedFigure, kind_of};
use super::gauged::{Gauged, Role};
use crate::engine::EngineError;
use crate::engine::doubt::{Doubtful, of_resolution};
use crate::engine::fits::Material;
use crate::engine::gauging::bore_map::BoreMap;
use crate::engine::gauging::clearance;
use crate::engine::gauging::edges::{self, Edges};
use crate::notebook::guidance::Guidance;
use crate::notebook::{Build, Limits};
use crate::quantity::{Dimension, FigureLimit, Length, Measure};

/// What the readings of a build come to.
#[derive(Debug, Clone)]
pub struct Judgement {
    /// The figures in the order of reading.
    pub figures: Vec<NamedFigure>,
    /// The bore maps at 20 C, each with its cylinder where the engine has several.
    pub bores: Vec<(Option<String>, BoreMap)>,
    /// What was assumed, what is missing and what could not be judged.
    pub remarks: Vec<Guidance>,
    /// Whether the readings could be reckoned with at all.
    pub is_reckoned: bool,
}

impl Judgement {
    /// A figure by its name; of seats the first.
    pub fn figure(&self, name: &str) -> Option<&NamedFigure> {
        self.figures.iter().find(|figure| figure.kind.name == name)
    }

    /// What of it holds for one cylinder: its own figures and those of all.
    #[must_use]
    pub fn for_cylinder(&self, name: &str) -> Self {
        let of_it = |cylinder: &Option<String>| cylinder.as_deref().is_none_or(|own| own == name);
        let figures = self.figures.iter().filter(|figure| of_it(&figure.cylinder)).cloned();
        let bores = self.bores.iter().filter(|(cylinder, _)| of_it(cylinder)).cloned();
        Self { figures: figures.collect(), bores: bores.collect(), ..self.clone() }
    }
}

/// Judges a build of an engine; `bore_m` is the engine's nominal bore, for limits that are shares of it where the build has
/// no bore map.
pub fn judge(
    build: &Build,
    engine: &str,
    limits: &Limits,
    bore_m: Option<f64>,
) -> Result<Judgement, EngineError> {
    let gauged = Gauged { build, limits };
    let bore = gauged.bore_map()?;
    let mut found = FoundFigure { figures: Vec::new() };
    found.bore(bore.as_ref());
    found.piston(&gauged, bore.as_ref(), bore_m)?;
    let nominal = bore.as_ref().map(|map| map.least().diameter.value()).or(bore_m);
    found.ring(&gauged, nominal);
    found.pin_and_rod(&gauged)?;
    found.crank(&gauged);
    found.top(&gauged);
    found.reed(&gauged);
    found.seats(&gauged)?;
    found.figures.sort_by_key(|figure| super::KINDS.iter().position(|kind| kind.name == figure.kind.name));
    let mut remarks = remarks(&gauged, bore.as_ref());
    for figure in &mut found.figures {
        hold_against(figure, engine, limits, nominal, &mut remarks)?;
    }
    for name in unknown_figures(engine, limits) {
        let unused =
            format!("configs/limits.toml has limits for {name}, which is no figure: they are not used.");
        remarks.push(unused.into());
    }
    let bores = bore.into_iter().map(|map| (None, map)).collect();
    Ok(Judgement { figures: found.figures, bores, remarks, is_reckoned: true })
}

/// What was assumed and what is missing.
fn remarks(gauged: &Gauged<'_>, bore: Option<&BoreMap>) -> Vec<Guidance> {
    let mut remarks: Vec<Guidance> = Vec::new();
    let build = gauged.build;
    let measured =
        !build.bore.is_empty() || build.piston.is_some() || build.ring.is_some() || !build.seats.is_empty();
    if gauged.build.temperature.is_none() && measured {
        remarks.push(
            "No temperature was written down: 20 C is assumed, give or take 5 K. Say it with temperature=\"18 C\".".into(),
        );
    }
    if gauged.is_zeroed_on_piston() && bore.is_none() && !gauged.build.bore.is_empty() {
        remarks.push(
            "The bore gauge was zeroed on a piston whose size is not written down: the clearance is known, the bore is not. Give piston.diameter.".into(),
        );
    }
    remarks.extend(bore.and_then(BoreMap::missing).map(Guidance::from));
    remarks
}

fn say_once(remarks: &mut Vec<Guidance>, remark: String) {
    let remark = remark.into();
    if !remarks.contains(&remark) {
        remarks.push(remark);
    }
}

/// Names in the limits that no figure has.
pub fn unknown_figures(engine: &str, limits: &Limits) -> Vec<String> {
    let own = limits.engines.get(engine).into_iter().flat_map(|own| own.keys());
    let mut names: Vec<_> =
        limits.figures.keys().chain(own).filter(|name| kind_of(name).is_none()).cloned().collect();
    names.sort();
    names.dedup();
    names
}

/// The name that a figure's limits stand under: the widest gap is held against those of the tightest, and the least squish
/// against those of the mean, where it has none of its own.
fn limits_name(name: &'static str, engine: &str, limits: &Limits) -> &'static str {
    match name {
        "ring_gap_widest" => "ring_gap",
        "squish_least" if limits.of(engine, name).is_none() => "squish_mean",
        other => other,
    }
}

/// Puts the limits beside a figure.
fn hold_against(
    figure: &mut NamedFigure,
    engine: &str,
    limits: &Limits,
    bore_m: Option<f64>,
    remarks: &mut Vec<Guidance>,
) -> Result<(), EngineError> {
    let own = limits_name(figure.kind.name, engine, limits);
    let Some(set) = limits.of(engine, own) else {
        return Ok(());
    };
    let mut refused = None;
    let mut edge = |limit: &Option<FigureLimit>| {
        let limit = limit.as_ref()?;
        let si = edge_si(limit, figure.kind.unit, bore_m);
        if let Err(why) = &si {
            refused = Some(format!("The limit {limit} of {own} in configs/limits.toml is not used: {why}"));
        }
        si.ok()
    };
    let (least, watch_below) = (edge(&set.least), edge(&set.watch_below));
    let (watch_above, most) = (edge(&set.watch_above), edge(&set.most));
    if let Some(refused) = refused {
        // With an edge missing the others would say less than the tuner meant: no verdict then.
        say_once(remarks, refused);
        return Ok(());
    }
    let unit = match figure.kind.unit {
        FigureUnit::Length => "m",
        FigureUnit::Volume => "m3",
        FigureUnit::Mass => "kg",
    };
    let Ok(edges) = Edges::new(least, watch_below, watch_above, most, unit) else {
        say_once(
            remarks,
            format!(
                "The limits of {own} in configs/limits.toml are not in order: least, watch_below, watch_above, most must not fall."
            ),
        );
        return Ok(());
    };
    figure.judged = edges::judge(&figure.value, &edges)?;
    figure.edges = figure.judged.is_some().then_some(edges);
    figure.source = set.source.clone();
    Ok(())
}

/// An edge in SI; a share is one of the bore.
fn edge_si(limit: &FigureLimit, unit: FigureUnit, bore_m: Option<f64>) -> Result<f64, &'static str> {
    let quantity = limit.quantity();
    match (quantity.dimension(), unit) {
        (Dimension::Length, FigureUnit::Length)
        | (Dimension::Volume, FigureUnit::Volume)
        | (Dimension::Mass, FigureUnit::Mass) => Ok(quantity.si()),
        (Dimension::Share, FigureUnit::Length) => {
            bore_m.map(|bore| quantity.si() * bore).ok_or("it is a share of the bore, and no bore is known.")
        }
        _ => Err("it measures something else than the figure does."),
    }
}

struct FoundFigure {
    figures: Vec<NamedFigure>,
}

impl FoundFigure {
    fn push(&mut self, name: &str, value: Doubtful, at: Option<String>) {
        self.push_seat(name, None, value, at);
    }

    fn push_seat(&mut self, name: &str, seat: Option<String>, value: Doubtful, at: Option<String>) {
        if let Some(kind) = kind_of(name) {
            let (cylinder, edges, source, judged) = (None, None, None, None);
            self.figures.push(NamedFigure { kind, seat, cylinder, value, at, edges, source, judged });
        }
    }

    /// A small length that stands alone, where it was measured.
    fn small(&mut self, gauged: &Gauged<'_>, name: &str, role: Role, field: &str, typed: Option<&Length>) {
        if let Some(typed) = typed {
            self.push(name, gauged.small(role, field, typed), None);
        }
    }

    fn bore(&mut self, bore: Option<&BoreMap>) {
        let Some(map) = bore else { return };
        for (name, spot) in [("least_bore", map.least()), ("greatest_bore", map.greatest())] {
            let at = format!("{}, {}", spot.level, spot.axis.name());
            self.push(name, spot.diameter.clone(), Some(at));
        }
        if let Some(taper) = map.taper() {
            let at = format!("{} wider than {}, {}", taper.wide, taper.narrow, taper.axis.name());
            self.push("bore_taper", taper.difference, Some(at));
        }
        if let Some(out) = map.out_of_round() {
            let at = format!("{}, wider {}", out.level, out.wide.name());
            self.push("bore_out_of_round", out.difference, Some(at));
        }
    }

    fn piston(
        &mut self,
        gauged: &Gauged<'_>,
        bore: Option<&BoreMap>,
        bore_m: Option<f64>,
    ) -> Result<(), EngineError> {
        let piston = gauged.piston()?;
        if let Some(piston) = &piston {
            self.push("piston_diameter", piston.clone(), None);
        }
        match (bore, piston) {
            (Some(map), Some(piston)) => {
                let spot = map.least();
                let at = format!("{}, {}", spot.level, spot.axis.name());
                self.push("piston_clearance", clearance(&spot.diameter, &piston)?, Some(at));
            }
            (None, _) => {
                if let Some((shown, at)) = gauged.shown_clearance(bore_m) {
                    self.push("piston_clearance", shown, Some(at));
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn ring(&mut self, gauged: &Gauged<'_>, bore_m: Option<f64>) {
        let Some(ring) = &gauged.build.ring else { return };
        let gaps: Vec<_> = ring
            .gaps
            .iter()
            .filter_map(|(name, gap)| {
                let field = format!("ring.gaps.{name}.gap");
                Some((name, gauged.ring_gap(&field, gap.gap.as_ref()?, bore_m)))
            })
            .collect();
        let by_size =
            |a: &&(&String, Doubtful), b: &&(&String, Doubtful)| a.1.value().total_cmp(&b.1.value());
        if let (Some((least_at, least)), Some((most_at, most))) =
            (gaps.iter().min_by(by_size), gaps.iter().max_by(by_size))
        {
            self.push("ring_gap", least.clone(), Some((*least_at).clone()));
            if gaps.len() > 1 {
                self.push("ring_gap_widest", most.clone(), Some((*most_at).clone()));
            }
        }
        self.small(
            gauged,
            "ring_side_clearance",
            Role::Feeler,
            "ring.side_clearance",
            ring.side_clearance.as_ref(),
        );
    }

    fn pin_and_rod(&mut self, gauged: &Gauged<'_>) -> Result<(), EngineError> {
        let typed = gauged.build.pin.as_ref().and_then(|pin| pin.diameter.as_ref());
        let pin = typed
            .map(|typed| gauged.size(Role::Outside, "pin.diameter", typed, Material::Steel))
            .transpose()?;
        let typed = gauged.build.piston.as_ref().and_then(|piston| piston.pin_bore.as_ref());
        let hole =
            typed.map(|typed| gauged.piston_size(Role::Inside, "piston.pin_bore", typed)).transpose()?;
        if let (Some(pin), Some(hole)) = (&pin, &hole) {
            self.push("pin_in_piston", hole.minus(pin), None);
        }
        if let Some(pin) = pin {
            self.push("pin_diameter", pin, None);
        }
        let Some(rod) = &gauged.build.rod else { return Ok(()) };
        if let Some(typed) = &rod.small_end_bore {
            let bore = gauged.size(Role::Inside, "rod.small_end_bore", typed, Material::Steel)?;
            self.push("small_end_bore", bore, None);
        }
        let side = rod.side_clearance.as_ref();
        self.small(gauged, "rod_side_clearance", Role::Feeler, "rod.side_clearance", side);
        self.small(gauged, "big_end_play", Role::Indicator, "rod.big_end_play", rod.big_end_play.as_ref());
        Ok(())
    }

    fn crank(&mut self, gauged: &Gauged<'_>) {
        let Some(crank) = &gauged.build.crank else { return };
        let sides = [("left", &crank.runout_left), ("right", &crank.runout_right)];
        let worst = sides
            .into_iter()
            .filter_map(|(side, typed)| {
                let field = format!("crank.runout_{side}");
                Some((side, gauged.small(Role::Indicator, &field, typed.as_ref()?)))
            })
            .max_by(|a, b| a.1.value().total_cmp(&b.1.value()));
        if let Some((side, value)) = worst {
            self.push("crank_runout", value, Some(side.to_owned()));
        }
    }

    fn top(&mut self, gauged: &Gauged<'_>) {
        if let Some(squish) = &gauged.build.squish {
            let places = [
                ("front", &squish.front),
                ("rear", &squish.rear),
                ("left", &squish.left),
                ("right", &squish.right),
            ];
            let read: Vec<_> = places
                .into_iter()
                .filter_map(|(place, typed)| {
                    let field = format!("squish.{place}");
                    Some((place, gauged.small(Role::Solder, &field, typed.as_ref()?)))
                })
                .collect();
            self.squish(&read);
        }
        let deck = gauged.build.deck.as_ref().and_then(|deck| deck.height.as_ref());
        self.small(gauged, "deck_height", Role::Indicator, "deck.height", deck);
        if let Some(volume) = gauged.build.chamber.as_ref().and_then(|chamber| chamber.volume.as_ref()) {
            let (own, usual) = (gauged.build.gauges.as_ref(), gauged.limits.gauges.as_ref());
            let burettes = [own, usual].map(|gauges| gauges.and_then(|gauges| gauges.burette.as_ref()));
            let resolution = burettes.iter().flatten().find_map(|burette| burette.resolution.as_ref());
            let hand = burettes.iter().flatten().find_map(|burette| burette.uncertainty.as_ref());
            let value = Doubtful::new(
                volume.si(),
                "reading of chamber.volume",
                of_resolution(resolution.map_or(1e-7, Measure::si)),
            );
            self.push(
                "chamber_volume",
                value.also("hand at the burette", hand.map_or(0.0, Measure::si)),
                None,
            );
        }
    }

    fn squish(&mut self, read: &[(&'static str, Doubtful)]) {
        let by_size = |a: &&(&'static str, Doubtful), b: &&(&'static str, Doubtful)| {
            a.1.value().total_cmp(&b.1.value())
        };
        let (Some(least), Some(most)) = (read.iter().min_by(by_size), read.iter().max_by(by_size)) else {
            return;
        };
        let mut sum = Doubtful::exact(0.0);
        let mut places: f64 = 0.0;
        for (_, value) in read {
            sum = sum.plus(value);
            places += 1.0;
        }
        let mean = (places < 3.5).then(|| {
            let names: Vec<_> = read.iter().map(|(place, _)| *place).collect();
            format!("{} only", names.join(", "))
        });
        self.push("squish_mean", sum.times(1.0 / places), mean);
        if read.len() > 1 {
            self.push("squish_least", least.1.clone(), Some(least.0.to_owned()));
            let at = format!("{} wider than {}", most.0, least.0);
            self.push("squish_tilt", most.1.minus(&least.1), Some(at));
        }
    }

    fn reed(&mut self, gauged: &Gauged<'_>) {
        let Some(reed) = &gauged.build.reed else { return };
        if let Some(tension) = &reed.tension {
            let (own, usual) = (gauged.build.gauges.as_ref(), gauged.limits.gauges.as_ref());
            let balances = [own, usual].map(|gauges| gauges.and_then(|gauges| gauges.balance.as_ref()));
            let resolution = balances.iter().flatten().find_map(|balance| balance.resolution.as_ref());
            let hand = balances.iter().flatten().find_map(|balance| balance.uncertainty.as_ref());
            let value = Doubtful::new(
                tension.si(),
                "reading of reed.tension",
                of_resolution(resolution.map_or(1e-3, Measure::si)),
            );
            self.push("reed_tension", value.also("hand at the balance", hand.map_or(0.0, Measure::si)), None);
        }
        self.small(gauged, "reed_gap", Role::Feeler, "reed.gap", reed.gap.as_ref());
    }

    fn seats(&mut self, gauged: &Gauged<'_>) -> Result<(), EngineError> {
        for (name, seat) in &gauged.build.seats {
            let size = |role, inner: &str, typed: &Option<Length>, material| {
                let field = format!("seats.{name}.{inner}");
                typed.as_ref().map(|typed| gauged.size(role, &field, typed, material)).transpose()
            };
            let case = size(Role::Inside, "case_bore", &seat.case_bore, gauged.case())?;
            let outside = size(Role::Outside, "bearing_outside", &seat.bearing_outside, Material::Steel)?;
            if let (Some(case), Some(outside)) = (case, outside) {
                self.push_seat("bearing_in_case", Some(name.clone()), outside.minus(&case), None);
            }
            let bore = size(Role::Inside, "bearing_bore", &seat.bearing_bore, Material::Steel)?;
            let shaft = size(Role::Outside, "shaft", &seat.shaft, Material::Steel)?;
            if let (Some(bore), Some(shaft)) = (bore, shaft) {
                self.push_seat("bearing_on_shaft", Some(name.clone()), shaft.minus(&bore), None);
            }
        }
        Ok(())
    }
}
