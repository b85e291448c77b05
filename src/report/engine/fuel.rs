//! Oil into petrol, and what a blend brings.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::cautions::STANDING;
use crate::advice::figures::fuel::{BlendFigures, SharesBy, TankFigures};
use crate::advice::figures::{Gap, Known};
use crate::engine::fuel::Component;
use crate::engine::fuel::mixing::{Correction, ToAdd};
use crate::quantity::{Dimension, fixed, nearly_equal, trimmed};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::known::{FigureOrGap, lacks, line};
use crate::report::words::sizes::with_unit;
use crate::report::words::subject::Subject;

/// Oil for the petrol, a can brought to another ratio, and what a blend brings. Null where a figure is not known.
#[derive(Debug, Serialize, JsonSchema)]
pub struct FuelAnswer {
    #[serde(flatten)]
    subject: Subject,
    /// Petrol to oil by volume of the setup.
    oil_ratio: FigureOrGap<2>,
    /// Oil in the mixture, percent of its mass.
    oil_mass_percent: FigureOrGap<3>,
    /// Density of the mixture at `temperature_c`, kg/m3.
    mixture_density_kg_m3: FigureOrGap<2>,
    /// Temperature of the fuel, C; 15 where it is not written down.
    temperature_c: Figure<1>,
    /// Stoichiometric ratio of the setup's fuel, air to fuel by mass, as written down.
    stoichiometric_ratio: FigureOrGap<3>,
    /// Oil for --petrol; null where it was not asked.
    pour: Option<Pour>,
    /// What to pour into --can; null where it was not asked.
    can: Option<Can>,
    /// A blend; null where none was asked about.
    blend: Option<Blend>,
    /// What to know about the figures.
    notes: Vec<String>,
    /// Cautions that go with fuel.
    cautions: Vec<&'static str>,
    /// Figures that are not known, each with the fields it needs.
    not_known: Vec<String>,
}

/// Oil for petrol.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Pour {
    /// Petrol, cc.
    petrol_cc: Figure<1>,
    /// Petrol to oil by volume.
    oil_ratio: FigureOrGap<2>,
    /// Oil to mix into it, cc.
    oil_cc: FigureOrGap<1>,
}

/// A mixed can that is to have another ratio.
#[derive(Debug, Serialize, JsonSchema)]
#[allow(clippy::struct_field_names)] // they are the keys of the answer
pub struct Can {
    /// What is in the can, cc.
    can_cc: Figure<1>,
    /// Petrol to oil by volume the can is mixed at; null where it is not known.
    from_oil_ratio: FigureOrGap<2>,
    /// Petrol to oil by volume that it should have.
    to_oil_ratio: Figure<2>,
    /// Oil to add, cc.
    add_oil_cc: FigureOrGap<1>,
    /// Petrol without oil to add, cc.
    add_petrol_cc: FigureOrGap<1>,
    /// What is in the can afterwards, cc.
    total_cc: FigureOrGap<1>,
}

/// A blend that was asked about.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Blend {
    /// Its parts by mass.
    parts: Vec<BlendPart>,
    /// Density at 15 C, kg/m3, to record as fuel.density.
    density_15c_kg_m3: FigureOrGap<2>,
    /// Stoichiometric ratio, air to fuel by mass, to record as `fuel.stoichiometric_ratio`.
    stoichiometric_ratio: FigureOrGap<3>,
    /// Lower heating value, MJ/kg.
    heating_value_mj_kg: FigureOrGap<3>,
    /// Energy for each kilogram of air that burns it completely, MJ/kg.
    energy_per_air_mj_kg: FigureOrGap<4>,
    /// The same over that of plain petrol.
    energy_to_petrol: FigureOrGap<4>,
    /// Its shares as they were given, in words.
    #[serde(skip)]
    given: String,
    /// How they are meant.
    #[serde(skip)]
    by: SharesBy,
}

/// One part of a blend.
#[derive(Debug, Serialize, JsonSchema)]
struct BlendPart {
    /// petrol, ethanol, methanol or toluene.
    fuel: &'static str,
    /// Share of the blend's mass, percent.
    mass_percent: Figure<2>,
}

impl FuelAnswer {
    /// What is in the tank of a setup, and what was asked beside it.
    pub fn new(
        subject: Subject,
        tank: &TankFigures,
        temperature_assumed: bool,
        pour: Option<Pour>,
        can: Option<Can>,
        blend: Option<Blend>,
    ) -> Self {
        let mut answer = Self {
            subject,
            oil_ratio: FigureOrGap(tank.oil_ratio.clone()),
            oil_mass_percent: FigureOrGap::of(&tank.oil_mass_fraction, |share| share * 100.0),
            mixture_density_kg_m3: FigureOrGap(tank.mixture_density.clone()),
            temperature_c: Figure(tank.temperature_c),
            stoichiometric_ratio: FigureOrGap(tank.stoichiometric_ratio.clone()),
            pour,
            can,
            blend,
            notes: Vec::new(),
            cautions: STANDING.into_iter().filter(|caution| caution.starts_with("Race fuels")).collect(),
            not_known: Vec::new(),
        };
        answer.notes = answer.to_know(temperature_assumed);
        answer.not_known = answer.lacks();
        answer
    }

    fn to_know(&self, temperature_assumed: bool) -> Vec<String> {
        let mut notes = Vec::new();
        if temperature_assumed && self.mixture_density_kg_m3.value().is_some() {
            notes.push("fuel.temperature is not written down: 15 C is taken.".to_owned());
        }
        notes.extend(self.changed_ratio().map(str::to_owned));
        if let Some(blend) = &self.blend {
            notes.extend(self.more_fuel(blend));
            notes.push(
                match blend.by {
                    SharesBy::Mass => {
                        "The shares are by mass; --blend-by-volume takes what a measuring jug shows."
                    }
                    SharesBy::Volume => "The shares are by volume at 15 C.",
                }
                .to_owned(),
            );
            notes.push("Petrol in the blend is taken to be plain: the setup's fuel.density, and 14.7 and 44.0 MJ/kg whatever fuel.stoichiometric_ratio says. Alcohols and toluene are pure, without water.".to_owned());
            notes.push("Energy for the same air is what the air can give, not power: cooling, flame speed and knock are not in it.".to_owned());
        }
        notes
    }

    /// What another ratio than the setup's does to the engine.
    fn changed_ratio(&self) -> Option<&'static str> {
        let setup = self.oil_ratio.value()?;
        let poured = self.pour.as_ref().and_then(|pour| pour.oil_ratio.value());
        let ratio = poured.or_else(|| self.can.as_ref().map(|can| can.to_oil_ratio.0))?;
        if nearly_equal(ratio, setup) {
            return None;
        }
        Some(if ratio < setup {
            "More oil than the setup's leaves less petrol in what the jet passes: the engine runs leaner. `reedbook rejet` with --oil-ratio tells the jet."
        } else {
            "Less oil than the setup's: keep to what engine and oil are made for. More petrol is in what the jet passes, so the engine runs richer; `reedbook rejet` with --oil-ratio tells the jet."
        })
    }

    /// How much more of a blend the engine needs than of what the setup burns, and that the jets must follow.
    fn more_fuel(&self, blend: &Blend) -> Option<String> {
        let by_mass = self.stoichiometric_ratio.value()? / blend.stoichiometric_ratio.value()?;
        let way = if by_mass > 1.0 { "leaner" } else { "richer" };
        if (by_mass - 1.0).abs() < 0.005 {
            return None;
        }
        Some(format!(
            "For the same air the engine needs {} times the mass of this blend that it needs of the setup's fuel: on the same jets it runs {way}. Rejet first (`reedbook rejet` with --fuel-density and --stoichiometric-ratio), and ask the oil's maker whether it mixes with alcohol.",
            fixed(by_mass, 2)
        ))
    }

    fn lacks(&self) -> Vec<String> {
        let blend = self.blend.as_ref();
        lacks([
            ("petrol to oil", self.oil_ratio.gap()),
            ("oil in the mixture", self.oil_mass_percent.gap()),
            ("mixture's density", self.mixture_density_kg_m3.gap()),
            ("stoichiometric ratio", self.stoichiometric_ratio.gap()),
            ("mix", self.pour.as_ref().and_then(|pour| pour.oil_cc.gap())),
            ("can", self.can.as_ref().and_then(|can| can.total_cc.gap())),
            ("blend", blend.and_then(|blend| blend.stoichiometric_ratio.gap())),
            (
                "blend's density",
                // Told only where the rest of the blend is known.
                blend
                    .filter(|blend| blend.stoichiometric_ratio.value().is_some())
                    .and_then(|blend| blend.density_15c_kg_m3.gap()),
            ),
        ])
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "fuel");
        lines.push(String::new());
        let mut told: Vec<_> = self.pour.iter().map(|pour| ("mix", pour.words())).collect();
        told.extend(self.can.iter().map(|can| ("can", can.words())));
        told.extend(self.tank_text(screen));
        lines.extend(told.iter().map(|(name, words)| screen.wrap(&line(name, words), 28)));
        if let Some(blend) = &self.blend {
            lines.push(String::new());
            lines.extend(blend.text(screen));
        }
        lines.push(String::new());
        lines.extend(self.notes.iter().map(|note| screen.known(note)));
        lines.extend(self.cautions.iter().map(|caution| screen.wrap(&format!("CAUTION  {caution}"), 9)));
        lines.join("\n")
    }

    /// What is in the tank.
    fn tank_text(&self, screen: &Screen) -> [(&'static str, Known<String>); 4] {
        let warm = with_unit(self.temperature_c.0 + 273.15, Dimension::Temperature, screen.units(), 1);
        let oil = |ratio| format!("{}:1, petrol to oil by volume", trimmed(ratio, 1));
        let density = |density| format!("{} kg/m3 at {warm}", fixed(density, 1));
        [
            ("the setup's oil", self.oil_ratio.words(oil)),
            (
                "oil in the mixture",
                self.oil_mass_percent.words(|percent| format!("{} % by mass", fixed(percent, 2))),
            ),
            ("mixture's density", self.mixture_density_kg_m3.words(density)),
            ("stoichiometric ratio", self.stoichiometric_ratio.words(air_to_fuel)),
        ]
    }
}

/// A ratio that is not written down can be given as an option.
fn or_the_option(gap: Gap) -> Gap {
    match gap {
        Gap::Needs(fields) if fields == ["fuel.oil_ratio"] => {
            Gap::Needs(vec!["fuel.oil_ratio or --oil-ratio".to_owned()])
        }
        other => other,
    }
}

impl Pour {
    /// Oil for so much petrol, m3, at a ratio of petrol to oil by volume.
    pub fn new(petrol_m3: f64, ratio: Known<f64>, oil_m3: &Known<f64>) -> Self {
        Self {
            petrol_cc: Figure(petrol_m3 * 1e6),
            oil_ratio: FigureOrGap(ratio),
            oil_cc: FigureOrGap::of(&oil_m3.clone().map_err(or_the_option), |oil| oil * 1e6),
        }
    }

    /// Why the oil is not known.
    pub fn gap(&self) -> Option<Gap> {
        self.oil_cc.0.clone().err()
    }

    fn words(&self) -> Known<String> {
        let ratio = trimmed(self.oil_ratio.value().unwrap_or_default(), 1);
        self.oil_cc
            .words(|oil| format!("{} of oil into {} of petrol, {ratio}:1", cc(oil), litres(self.petrol_cc.0)))
    }
}

impl Can {
    /// A can with so much in it, m3, brought from one ratio of petrol to oil to another.
    pub fn new(volume_m3: f64, from: Known<f64>, to: f64, correction: &Known<Correction>) -> Self {
        let oil = |add| if let ToAdd::Oil(oil) = add { oil } else { 0.0 };
        let petrol = |add| if let ToAdd::Petrol(petrol) = add { petrol } else { 0.0 };
        Self {
            can_cc: Figure(volume_m3 * 1e6),
            from_oil_ratio: FigureOrGap(from),
            to_oil_ratio: Figure(to),
            add_oil_cc: FigureOrGap::of(correction, |correction| oil(correction.add) * 1e6),
            add_petrol_cc: FigureOrGap::of(correction, |correction| petrol(correction.add) * 1e6),
            total_cc: FigureOrGap::of(correction, |correction| correction.after.total_m3() * 1e6),
        }
    }

    /// Why what to pour in is not known.
    pub fn gap(&self) -> Option<Gap> {
        self.total_cc.0.clone().err()
    }

    fn words(&self) -> Known<String> {
        let added = |figure: &FigureOrGap<1>| figure.value().filter(|volume| *volume > 0.0).map(cc);
        let what = match (added(&self.add_oil_cc), added(&self.add_petrol_cc)) {
            (Some(oil), _) => format!("add {oil} of oil"),
            (None, Some(petrol)) => format!("add {petrol} of petrol without oil"),
            (None, None) => "add nothing".to_owned(),
        };
        let had = trimmed(self.from_oil_ratio.value().unwrap_or_default(), 1);
        self.total_cc.words(|total| {
            format!(
                "{what} to {} at {had}:1; then {} at {}:1",
                litres(self.can_cc.0),
                litres(total),
                trimmed(self.to_oil_ratio.0, 1)
            )
        })
    }
}

impl Blend {
    /// A blend of shares as they were given, fractions of one.
    pub fn new(shares: &[(Component, f64)], by: SharesBy, figures: &Known<BlendFigures>) -> Self {
        let part = |(component, share): (Component, f64)| BlendPart {
            fuel: name(component),
            mass_percent: Figure(share * 100.0),
        };
        let given: Vec<_> = shares.iter().copied().map(part).collect();
        let parts = figures.iter().flat_map(|figures| &figures.parts);
        Self {
            parts: parts.map(|one| part((one.component, one.share))).collect(),
            density_15c_kg_m3: FigureOrGap(figures.clone().and_then(|figures| figures.density_15c)),
            stoichiometric_ratio: FigureOrGap::of(figures, |figures| figures.stoichiometric_ratio),
            heating_value_mj_kg: FigureOrGap::of(figures, |figures| figures.heating_value_j_kg / 1e6),
            energy_per_air_mj_kg: FigureOrGap::of(figures, |figures| figures.energy_per_air_j_kg / 1e6),
            energy_to_petrol: FigureOrGap::of(figures, |figures| figures.energy_ratio),
            given: parts_words(&given),
            by,
        }
    }

    /// Why its density, or all of it, is not known.
    pub fn gap(&self) -> Option<Gap> {
        self.density_15c_kg_m3.0.clone().err()
    }

    fn text(&self, screen: &Screen) -> Vec<String> {
        let by = match self.by {
            SharesBy::Mass => "by mass",
            SharesBy::Volume => "by volume",
        };
        let mut lines = vec![format!("Blend {by}: {}", self.given)];
        let told = match &self.stoichiometric_ratio.0 {
            Ok(ratio) => self.figures_text(screen, *ratio),
            Err(gap) => vec![("its figures", Err(gap.clone()))],
        };
        lines.extend(told.iter().map(|(name, words)| screen.wrap(&line(name, words), 28)));
        lines
    }

    fn figures_text(&self, screen: &Screen, ratio: f64) -> Vec<(&'static str, Known<String>)> {
        let mut told = Vec::new();
        if self.by == SharesBy::Volume {
            told.push(("by mass", Ok(parts_words(&self.parts))));
        }
        let at = with_unit(288.15, Dimension::Temperature, screen.units(), 1);
        let density = &self.density_15c_kg_m3;
        let petrol = self.energy_to_petrol.or_dash(3);
        let energy = |energy| format!("{} MJ/kg of air, {petrol} of plain petrol's", fixed(energy, 3));
        let recorded = density.words(|density| format!("fuel.density={} ", fixed(density, 1)));
        let recorded = recorded.unwrap_or_default();
        told.extend([
            ("density", density.words(|density| format!("{} kg/m3 at {at}", fixed(density, 1)))),
            ("stoichiometric ratio", Ok(air_to_fuel(ratio))),
            ("heating value", self.heating_value_mj_kg.words(|heat| format!("{} MJ/kg", fixed(heat, 2)))),
            ("energy for the same air", self.energy_per_air_mj_kg.words(energy)),
            ("to record it", Ok(format!("{recorded}fuel.stoichiometric_ratio={}", fixed(ratio, 2)))),
        ]);
        told
    }
}

fn air_to_fuel(ratio: f64) -> String {
    format!("{} air to fuel by mass", fixed(ratio, 2))
}

fn cc(volume_cc: f64) -> String {
    // Below what a jug shows a syringe is used.
    let decimals = usize::from(volume_cc < 100.0);
    format!("{} cc", trimmed(volume_cc, decimals))
}

fn litres(volume_cc: f64) -> String {
    format!("{} l", trimmed(volume_cc / 1e3, 2))
}

fn name(component: Component) -> &'static str {
    match component {
        Component::Petrol => "petrol",
        Component::Ethanol => "ethanol",
        Component::Methanol => "methanol",
        Component::Toluene => "toluene",
    }
}

/// "petrol 85 %, ethanol 15 %".
fn parts_words(parts: &[BlendPart]) -> String {
    let words = parts.iter().map(|part| format!("{} {} %", part.fuel, trimmed(part.mass_percent.0, 1)));
    words.collect::<Vec<_>>().join(", ")
}
