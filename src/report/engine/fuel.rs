//! Oil into petrol, and what a blend brings.

use serde_json::{Value as Json, json};

use crate::advice::cautions::STANDING;
use crate::advice::figures::Known;
use crate::advice::figures::fuel::{BlendFigures, SharesBy, TankFigures};
use crate::engine::fuel::Component;
use crate::engine::mixing::{Correction, ToAdd};
use crate::quantity::{Dimension, fixed, nearly_equal, trimmed};
use crate::report::air::reading::rounded;
use crate::report::engine::pipe::shown;
use crate::report::out::screen::Screen;
use crate::report::words::known::{gap, lacks, line, number, with};
use crate::report::words::subject::Subject;

/// Oil for petrol.
pub struct Pour {
    /// Petrol, m3.
    pub petrol_m3: f64,
    /// Petrol to oil by volume.
    pub ratio: Known<f64>,
    /// Oil, m3.
    pub oil_m3: Known<f64>,
}

/// A blend that was asked about.
pub struct Blend {
    /// Its shares, fractions of one, as they were given.
    pub shares: Vec<(Component, f64)>,
    /// How they are meant.
    pub by: SharesBy,
    /// Its figures.
    pub figures: Known<BlendFigures>,
}

/// A mixed can that is to have another ratio.
pub struct Can {
    /// What is in it, m3.
    pub volume_m3: f64,
    /// The ratio it is mixed at.
    pub from: Known<f64>,
    /// The ratio it should have.
    pub to: f64,
    /// What to pour in.
    pub correction: Known<Correction>,
}

/// The fuel of a setup.
pub struct FuelReport<'a> {
    /// Whose.
    pub subject: &'a Subject,
    /// What is in the tank.
    pub tank: &'a TankFigures,
    /// Whether the fuel's temperature is not written down.
    pub temperature_assumed: bool,
    /// Oil for petrol.
    pub pour: Option<&'a Pour>,
    /// A can to be brought to another ratio.
    pub can: Option<&'a Can>,
    /// A blend.
    pub blend: Option<&'a Blend>,
}

impl FuelReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let tank = self.tank;
        with(
            self.subject.json(),
            json!({
                "oil_ratio": number(&tank.oil_ratio, 2),
                "oil_mass_percent": number(&tank.oil_mass_fraction.clone().map(|share| share * 100.0), 3),
                "mixture_density_kg_m3": number(&tank.mixture_density, 2),
                "temperature_c": rounded(tank.temperature_c, 1),
                "stoichiometric_ratio": number(&tank.stoichiometric_ratio, 3),
                "pour": self.pour.map(|pour| json!({
                    "petrol_cc": rounded(pour.petrol_m3 * 1e6, 1),
                    "oil_ratio": number(&pour.ratio, 2),
                    "oil_cc": number(&pour.oil_m3.clone().map(|oil| oil * 1e6), 1),
                })),
                "can": self.can.map(can_json),
                "blend": self.blend.map(blend_json),
                "notes": self.notes(),
                "cautions": cautions(),
                "not_known": self.not_known(),
            }),
        )
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "fuel");
        lines.push(String::new());
        let mut told = self.pouring();
        told.extend(self.tank_text(screen));
        lines.extend(told.iter().map(|(name, words)| screen.wrap(&line(name, words), 28)));
        if let Some(blend) = self.blend {
            lines.push(String::new());
            lines.extend(blend_text(screen, blend));
        }
        lines.push(String::new());
        lines.extend(self.notes().iter().map(|note| screen.wrap(&format!("note: {note}"), 6)));
        lines.extend(cautions().iter().map(|caution| screen.wrap(&format!("CAUTION  {caution}"), 9)));
        lines.join("\n")
    }

    /// What to measure out.
    fn pouring(&self) -> Vec<(&'static str, Known<String>)> {
        let mut told = Vec::new();
        if let Some(pour) = self.pour {
            let words = |oil: f64| {
                let ratio = pour.ratio.as_ref().map_or(0.0, |ratio| *ratio);
                format!(
                    "{} of oil into {} of petrol, {}:1",
                    cc(oil),
                    litres(pour.petrol_m3),
                    trimmed(ratio, 1)
                )
            };
            told.push(("mix", pour.oil_m3.clone().map(words)));
        }
        if let Some(can) = self.can {
            let words = |correction: Correction| {
                let what = match correction.add {
                    ToAdd::Oil(oil) => format!("add {} of oil", cc(oil)),
                    ToAdd::Petrol(petrol) => format!("add {} of petrol without oil", cc(petrol)),
                    ToAdd::Nothing => "add nothing".to_owned(),
                };
                let had = can.from.as_ref().map_or(0.0, |ratio| *ratio);
                format!(
                    "{what} to {} at {}:1; then {} at {}:1",
                    litres(can.volume_m3),
                    trimmed(had, 1),
                    litres(correction.after.total_m3()),
                    trimmed(can.to, 1)
                )
            };
            told.push(("can", can.correction.clone().map(words)));
        }
        told
    }

    /// What is in the tank.
    fn tank_text(&self, screen: &Screen) -> Vec<(&'static str, Known<String>)> {
        let tank = self.tank;
        let warm = shown(screen, Dimension::Temperature, tank.temperature_c + 273.15, 1);
        vec![
            (
                "the setup's oil",
                tank.oil_ratio
                    .clone()
                    .map(|ratio| format!("{}:1, petrol to oil by volume", trimmed(ratio, 1))),
            ),
            (
                "oil in the mixture",
                tank.oil_mass_fraction.clone().map(|share| format!("{} % by mass", fixed(share * 100.0, 2))),
            ),
            (
                "mixture's density",
                tank.mixture_density.clone().map(|density| format!("{} kg/m3 at {warm}", fixed(density, 1))),
            ),
            (
                "stoichiometric ratio",
                tank.stoichiometric_ratio
                    .clone()
                    .map(|ratio| format!("{} air to fuel by mass", fixed(ratio, 2))),
            ),
        ]
    }

    fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.temperature_assumed && self.tank.mixture_density.is_ok() {
            notes.push("fuel.temperature is not written down: 15 C is taken.".to_owned());
        }
        notes.extend(self.changed_ratio().map(str::to_owned));
        notes.extend(self.blend.and_then(|blend| more_fuel(blend, self.tank)));
        if let Some(blend) = self.blend {
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
        let setup = *self.tank.oil_ratio.as_ref().ok()?;
        let poured = self.pour.and_then(|pour| pour.ratio.as_ref().ok().copied());
        let ratio = poured.or_else(|| self.can.map(|can| can.to))?;
        if nearly_equal(ratio, setup) {
            return None;
        }
        Some(if ratio < setup {
            "More oil than the setup's leaves less petrol in what the jet passes: the engine runs leaner. `reedbook rejet` with --oil-ratio tells the jet."
        } else {
            "Less oil than the setup's: keep to what engine and oil are made for. More petrol is in what the jet passes, so the engine runs richer; `reedbook rejet` with --oil-ratio tells the jet."
        })
    }

    fn not_known(&self) -> Vec<String> {
        let tank = self.tank;
        let figures = self.blend.map(|blend| &blend.figures);
        lacks([
            ("petrol to oil", gap(&tank.oil_ratio)),
            ("oil in the mixture", gap(&tank.oil_mass_fraction)),
            ("mixture's density", gap(&tank.mixture_density)),
            ("stoichiometric ratio", gap(&tank.stoichiometric_ratio)),
            ("mix", self.pour.and_then(|pour| gap(&pour.oil_m3))),
            ("can", self.can.and_then(|can| gap(&can.correction))),
            ("blend", figures.and_then(gap)),
            ("blend's density", figures.and_then(|figures| gap(&figures.as_ref().ok()?.density_15c))),
        ])
    }
}

/// How much more of a blend the engine needs than of what the setup burns, and that the jets must follow.
fn more_fuel(blend: &Blend, tank: &TankFigures) -> Option<String> {
    let figures = blend.figures.as_ref().ok()?;
    let setup = *tank.stoichiometric_ratio.as_ref().ok()?;
    let by_mass = setup / figures.stoichiometric_ratio;
    let way = if by_mass > 1.0 { "leaner" } else { "richer" };
    if (by_mass - 1.0).abs() < 0.005 {
        return None;
    }
    Some(format!(
        "For the same air the engine needs {} times the mass of this blend that it needs of the setup's fuel: on the same jets it runs {way}. Rejet first (`reedbook rejet` with --fuel-density and --stoichiometric-ratio), and ask the oil's maker whether it mixes with alcohol.",
        fixed(by_mass, 2)
    ))
}

/// The standing caution about fuel.
fn cautions() -> Vec<&'static str> {
    STANDING.into_iter().filter(|caution| caution.starts_with("Race fuels")).collect()
}

fn cc(volume_m3: f64) -> String {
    let volume = volume_m3 * 1e6;
    // Below what a jug shows a syringe is used.
    let decimals = usize::from(volume < 100.0);
    format!("{} cc", trimmed(volume, decimals))
}

fn litres(volume_m3: f64) -> String {
    format!("{} l", trimmed(volume_m3 * 1e3, 2))
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
fn shares(shares: impl Iterator<Item = (Component, f64)>) -> String {
    let words = shares.map(|(part, share)| format!("{} {} %", name(part), trimmed(share * 100.0, 1)));
    words.collect::<Vec<_>>().join(", ")
}

fn blend_text(screen: &Screen, blend: &Blend) -> Vec<String> {
    let by = match blend.by {
        SharesBy::Mass => "by mass",
        SharesBy::Volume => "by volume",
    };
    let mut lines = vec![format!("Blend {by}: {}", shares(blend.shares.iter().copied()))];
    let figures = match &blend.figures {
        Ok(figures) => figures,
        Err(gap) => {
            lines.push(screen.wrap(&line("its figures", &Err(gap.clone())), 28));
            return lines;
        }
    };
    let mut told = Vec::new();
    if blend.by == SharesBy::Volume {
        told.push(("by mass", Ok(shares(figures.parts.iter().map(|part| (part.component, part.share))))));
    }
    let at = shown(screen, Dimension::Temperature, 288.15, 1);
    let ratio = figures.stoichiometric_ratio;
    let density = figures.density_15c.clone();
    told.extend([
        ("density", density.clone().map(|density| format!("{} kg/m3 at {at}", fixed(density, 1)))),
        ("stoichiometric ratio", Ok(format!("{} air to fuel by mass", fixed(ratio, 2)))),
        ("heating value", Ok(format!("{} MJ/kg", fixed(figures.heating_value_j_kg / 1e6, 2)))),
        (
            "energy for the same air",
            Ok(format!(
                "{} MJ/kg of air, {} of plain petrol's",
                fixed(figures.energy_per_air_j_kg / 1e6, 3),
                fixed(figures.energy_ratio, 3)
            )),
        ),
    ]);
    let density = density.map(|density| format!("fuel.density={} ", fixed(density, 1))).unwrap_or_default();
    let record = format!("{density}fuel.stoichiometric_ratio={}", fixed(ratio, 2));
    told.push(("to record it", Ok(record)));
    lines.extend(told.iter().map(|(name, words)| screen.wrap(&line(name, words), 28)));
    lines
}

fn can_json(can: &Can) -> Json {
    let correction = &can.correction;
    let cc = |volume: f64| rounded(volume * 1e6, 1);
    let (mut oil, mut petrol) = (Json::Null, Json::Null);
    if let Ok(correction) = correction {
        let (add_oil, add_petrol) = match correction.add {
            ToAdd::Oil(volume) => (volume, 0.0),
            ToAdd::Petrol(volume) => (0.0, volume),
            ToAdd::Nothing => (0.0, 0.0),
        };
        (oil, petrol) = (cc(add_oil), cc(add_petrol));
    }
    json!({
        "can_cc": cc(can.volume_m3),
        "from_oil_ratio": number(&can.from, 2),
        "to_oil_ratio": rounded(can.to, 2),
        "add_oil_cc": oil,
        "add_petrol_cc": petrol,
        "total_cc": correction.as_ref().map_or(Json::Null, |correction| cc(correction.after.total_m3())),
    })
}

fn blend_json(blend: &Blend) -> Json {
    let figures = blend.figures.as_ref();
    let of = |figure: fn(&BlendFigures) -> f64, decimals| {
        figures.map_or(Json::Null, |figures| rounded(figure(figures), decimals))
    };
    let parts = figures.map_or_else(
        |_| Vec::new(),
        |figures| {
            let part =
                |(part, share)| json!({ "fuel": name(part), "mass_percent": rounded(share * 100.0, 2) });
            figures.parts.iter().map(|one| part((one.component, one.share))).collect()
        },
    );
    json!({
        "parts": parts,
        "density_15c_kg_m3": figures.map_or(Json::Null, |figures| number(&figures.density_15c, 2)),
        "stoichiometric_ratio": of(|figures| figures.stoichiometric_ratio, 3),
        "heating_value_mj_kg": of(|figures| figures.heating_value_j_kg / 1e6, 3),
        "energy_per_air_mj_kg": of(|figures| figures.energy_per_air_j_kg / 1e6, 4),
        "energy_to_petrol": of(|figures| figures.energy_ratio, 4),
    })
}
