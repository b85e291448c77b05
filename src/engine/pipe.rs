//! The exhaust pipe: its sections, the speed of a wave in it, and the engine speed that it is tuned to.
//!
//! The exhaust opens and sends a wave down the pipe; the baffle throws it back. The pipe is in tune where the echo returns as
//! the exhaust closes: E/(6 N) seconds for twice the length, so N = E a/(12 L) with E in degrees of crank, a in m/s, L in m,
//! N in rpm. Source: Jennings, Two-Stroke Tuner's Handbook (1973), L = E a/N in inches and feet a second (quoted page read
//! second hand); the SI form is derived. Wave speed a = sqrt(gamma R T), textbook.
//!
//! One mean gas temperature stands for a pipe that is hot at one end and warm at the other, and no engine tells it. So a
//! tuned speed is a starting point to within some percent; how it *moves* with length and temperature is far surer.

use std::f64::consts::PI;

use super::{Allowed, EngineError, named};

/// Ratio of specific heats of the gas, a pure number: cold air's, and the usual choice with Jennings' wave speed.
///
/// Hot gas has less: air at 600 C 1.35 and burnt petrol 1.30, so that this constant gives 2 and 3 percent too much wave speed
/// there (computed with cantera, `tests/outside/pipe_intake.py`). A temperature here is therefore one that goes with it.
pub const GAMMA: f64 = 1.40;

/// Gas constant of dry air, J/(kg K). That of completely burnt petrol is 1.3 percent higher (computed, as above).
pub const GAS_CONSTANT_J_KG_K: f64 = 287.05;

/// The wave speed Jennings computes with: 1700 ft/s in m/s, as of gas at 395 C (quoted page read second hand).
pub const JENNINGS_WAVE_SPEED_M_S: f64 = 518.16;

/// Stinger diameter over header inlet diameter that Jennings (1973) gives (quoted page read second hand).
pub const JENNINGS_STINGER_RATIO: f64 = 0.62;

/// Area at the diffuser's end over area at the header's inlet that Jennings (1973) gives (quoted page read second hand).
pub const JENNINGS_DIFFUSER_AREA_RATIO: f64 = 6.25;

/// Where the echo of the whole baffle seems to come from, as a share of its length: half way along the baffle cone (Jennings
/// 1973, from memory).
pub const HALF_WAY: f64 = 0.5;

/// A section whose ends differ by no more than this is parallel, m: less than can be measured on rolled sheet (common
/// practice, no source).
const SAME_DIAMETER_M: f64 = 1e-4;

const SECTION_LENGTH: Allowed = Allowed {
    field: "length of a pipe section",
    unit: "m",
    low: 1e-3,
    high: 2.0,
    help: "Give the length along the centre line, in metres.",
};

const SECTION_DIAMETER: Allowed = Allowed {
    field: "diameter of a pipe section",
    unit: "m",
    low: 0.005,
    high: 0.25,
    help: "Give the inside diameter, in metres.",
};

const STINGER: Allowed = Allowed { field: named::STINGER_DIAMETER, high: 0.06, ..SECTION_DIAMETER };

const HEADER: Allowed = Allowed { field: "header inlet diameter", high: 0.1, ..SECTION_DIAMETER };

const INCLUDED_ANGLE: Allowed = Allowed {
    field: "included angle of a cone",
    unit: "degrees",
    low: 0.1,
    high: 120.0,
    help: "Give the whole angle between the two sides of the cone.",
};

const AREA_RATIO: Allowed = Allowed {
    field: "area ratio of a diffuser",
    unit: "",
    low: 1.0,
    high: 30.0,
    help: "Give area, not diameter, at the wide end over the narrow end; 6 is usual.",
};

const DUCT: Allowed = Allowed {
    field: "length of the exhaust duct",
    unit: "m",
    low: 0.0,
    high: 0.3,
    help: "Give the length from the piston's face to the joint with the pipe, 0 where the header is measured from the piston.",
};

const BAFFLE_SHARE: Allowed = Allowed {
    field: "share of the baffle to the point of mean reflection",
    unit: "",
    low: 0.0,
    high: 1.0,
    help: "Give it as a fraction of the baffle's length; half way is 0.5.",
};

const STEP: Allowed = Allowed {
    field: "smallest step that counts",
    unit: "m",
    low: 0.0,
    high: 0.05,
    help: "Give the difference of two diameters, in metres; 0.5 mm is 0.0005.",
};

const GAS_TEMPERATURE: Allowed = Allowed {
    field: "mean gas temperature in the pipe",
    unit: "K",
    low: 250.0,
    high: 1500.0,
    help: "Give it in kelvin, 273.15 more than in degrees Celsius.",
};

const WAVE_SPEED: Allowed = Allowed {
    field: "wave speed",
    unit: "m/s",
    low: 300.0,
    high: 800.0,
    help: "Give it in metres a second; hot exhaust gas has 480 to 600.",
};

const EXHAUST_OPEN: Allowed = Allowed {
    field: "exhaust duration",
    unit: "degrees",
    low: 90.0,
    high: 270.0,
    help: "Give the degrees of crank from opening to closing.",
};

const TUNED_LENGTH: Allowed = Allowed {
    field: "length to the point of mean reflection",
    unit: "m",
    low: 0.1,
    high: 5.0,
    help: "Give the length from the piston's face, in metres.",
};

const TUNED_SPEED: Allowed = Allowed {
    field: "engine speed",
    unit: "rpm",
    low: 500.0,
    high: 30_000.0,
    help: "Give revolutions per minute.",
};

const HOTTER: Allowed = Allowed {
    field: "change of gas temperature",
    unit: "K",
    low: -800.0,
    high: 800.0,
    help: "Give by how much the gas is hotter, negative for cooler.",
};

/// What a section does to the gas on its way out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A header or diffuser: wider where the gas leaves.
    Widening,
    /// A belly: the same at both ends, to 0.1 mm.
    Parallel,
    /// A baffle: narrower where the gas leaves.
    Narrowing,
}

/// One section of a pipe: a straight cone, or a piece of tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    length: f64,
    inlet: f64,
    outlet: f64,
}

impl Section {
    /// A section from its length along the centre line, 0.001 to 2 m, and its inside diameters where the gas enters and
    /// leaves, 0.005 to 0.25 m.
    pub fn new(length_m: f64, inlet_m: f64, outlet_m: f64) -> Result<Self, EngineError> {
        Ok(Self {
            length: SECTION_LENGTH.check(length_m)?,
            inlet: SECTION_DIAMETER.check(inlet_m)?,
            outlet: SECTION_DIAMETER.check(outlet_m)?,
        })
    }

    /// Length along the centre line, m.
    pub fn length_m(&self) -> f64 {
        self.length
    }

    /// Inside diameter where the gas enters, m.
    pub fn inlet_m(&self) -> f64 {
        self.inlet
    }

    /// Inside diameter where the gas leaves, m.
    pub fn outlet_m(&self) -> f64 {
        self.outlet
    }

    /// Volume, m3: the truncated cone, pi L/12 (d1² + d1 d2 + d2²).
    pub fn volume_m3(&self) -> f64 {
        PI / 12.0 * self.length * (self.inlet.powi(2) + self.inlet * self.outlet + self.outlet.powi(2))
    }

    /// Whole angle between the two sides, degrees: 2 atan((d2 - d1)/(2 L)), positive when it widens.
    pub fn included_angle_deg(&self) -> f64 {
        2.0 * ((self.outlet - self.inlet) / (2.0 * self.length)).atan().to_degrees()
    }

    /// What its two diameters make of it.
    pub fn shape(&self) -> Shape {
        let growth = self.outlet - self.inlet;
        if growth.abs() <= SAME_DIAMETER_M {
            Shape::Parallel
        } else if growth > 0.0 {
            Shape::Widening
        } else {
            Shape::Narrowing
        }
    }

    fn narrows(&self) -> bool {
        self.shape() == Shape::Narrowing
    }
}

/// A joint where the diameters of two neighbours differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiameterStep {
    /// The section before the joint, counted from 1.
    pub after_section: usize,
    /// Inlet of the next section less outlet of this one, m: positive where the pipe opens suddenly.
    pub difference_m: f64,
}

/// A pipe: its sections in the order in which the gas passes them, behind the cylinder's exhaust duct.
#[derive(Debug, Clone, PartialEq)]
pub struct Pipe {
    sections: Vec<Section>,
    duct: f64,
    header_inlet: f64,
}

impl Pipe {
    /// A pipe from at least one section. `duct_m` is the length from the piston's face to the first section, 0 to 0.3 m: 0
    /// where the first section is itself measured from the piston's face.
    pub fn new(sections: Vec<Section>, duct_m: f64) -> Result<Self, EngineError> {
        let Some(first) = sections.first() else {
            return Err(EngineError::TooFew {
                field: "list of pipe sections",
                found: 0,
                needed: 1,
                help: "Give length, inlet and outlet of each section, from the cylinder to the stinger.",
            });
        };
        Ok(Self { duct: DUCT.check(duct_m)?, header_inlet: first.inlet, sections })
    }

    /// The sections, from the cylinder on.
    pub fn sections(&self) -> &[Section] {
        &self.sections
    }

    /// Length of the pipe itself, m: all sections, without the duct in the cylinder.
    pub fn length_m(&self) -> f64 {
        length_of(&self.sections)
    }

    /// Volume of the pipe itself, m3: all sections, without the duct in the cylinder, whose width is not known here.
    pub fn volume_m3(&self) -> f64 {
        self.sections.iter().map(Section::volume_m3).sum()
    }

    /// Inside diameter where the gas enters the first section, m.
    pub fn header_inlet_m(&self) -> f64 {
        self.header_inlet
    }

    /// The widest inside diameter, m: the belly.
    pub fn widest_m(&self) -> f64 {
        self.sections.iter().flat_map(|section| [section.inlet, section.outlet]).fold(0.0, f64::max)
    }

    /// The baffle: the last section that narrows, with those that narrow directly before it. A parallel piece ends the run, and
    /// whatever follows the baffle (a stinger) does not belong to it.
    pub fn baffle(&self) -> Result<&[Section], EngineError> {
        self.split_at_baffle().map(|(_, baffle)| baffle)
    }

    /// Length from the piston's face to the point of mean reflection, m: the duct, every section before the baffle, and a share
    /// of the baffle's length, 0 to 1; [`HALF_WAY`] unless the tuner knows better.
    pub fn length_to_reflection_m(&self, baffle_share: f64) -> Result<f64, EngineError> {
        let share = BAFFLE_SHARE.check(baffle_share)?;
        let (before, baffle) = self.split_at_baffle()?;
        Ok(self.duct + length_of(before) + share * length_of(baffle))
    }

    /// The joints at which the diameters differ by more than `tolerance_m`, 0 to 0.05 m. A step is no error: some are built in,
    /// others show that a section was measured or written down wrong.
    pub fn steps(&self, tolerance_m: f64) -> Result<Vec<DiameterStep>, EngineError> {
        let tolerance = STEP.check(tolerance_m)?;
        let nexts = self.sections.iter().skip(1);
        Ok(self
            .sections
            .iter()
            .zip(nexts)
            .enumerate()
            .map(|(index, (this, next))| DiameterStep {
                after_section: index + 1,
                difference_m: next.inlet - this.outlet,
            })
            .filter(|step| step.difference_m.abs() > tolerance)
            .collect())
    }

    /// The sections before the baffle, and the baffle.
    fn split_at_baffle(&self) -> Result<(&[Section], &[Section]), EngineError> {
        let no_baffle = EngineError::NotKnown {
            field: "baffle",
            help: "No section of the pipe narrows, so nothing throws the wave back; give the baffle cone.",
        };
        let last = self.sections.iter().rposition(Section::narrows).ok_or(no_baffle)?;
        let (to_the_end_of_it, _stinger) = self.sections.split_at(last + 1);
        let start =
            to_the_end_of_it.iter().rposition(|section| !section.narrows()).map_or(0, |other| other + 1);
        Ok(to_the_end_of_it.split_at(start))
    }
}

fn length_of(sections: &[Section]) -> f64 {
    sections.iter().map(Section::length_m).sum()
}

/// Length of a cone, m, that goes from one diameter to another (0.005 to 0.25 m) at an included angle of 0.1 to 120 degrees:
/// |d2 - d1|/(2 tan(angle/2)).
pub fn cone_length_m(inlet_m: f64, outlet_m: f64, included_angle_deg: f64) -> Result<f64, EngineError> {
    let growth = SECTION_DIAMETER.check(outlet_m)? - SECTION_DIAMETER.check(inlet_m)?;
    let half_angle = INCLUDED_ANGLE.check(included_angle_deg)?.to_radians() / 2.0;
    Ok(growth.abs() / (2.0 * half_angle.tan()))
}

/// Diameter at the wide end of a diffuser, m, from the header's inlet (0.005 to 0.1 m) and the ratio of the two areas (1 to
/// 30): d sqrt(ratio).
pub fn diffuser_outlet_m(header_inlet_m: f64, area_ratio: f64) -> Result<f64, EngineError> {
    Ok(HEADER.check(header_inlet_m)? * AREA_RATIO.check(area_ratio)?.sqrt())
}

/// Stinger diameter over header inlet diameter, a pure number, from both in m (0.005 to 0.06 and to 0.1).
///
/// Compare [`JENNINGS_STINGER_RATIO`]; too small a stinger overheats the engine (Jennings 1973, from memory).
pub fn stinger_ratio(stinger_m: f64, header_inlet_m: f64) -> Result<f64, EngineError> {
    Ok(STINGER.check(stinger_m)? / HEADER.check(header_inlet_m)?)
}

/// Wave speed, m/s, in gas of a mean temperature of 250 to 1500 K: sqrt(gamma R T) with [`GAMMA`] and
/// [`GAS_CONSTANT_J_KG_K`].
pub fn wave_speed_m_s(temperature_k: f64) -> Result<f64, EngineError> {
    GAS_TEMPERATURE.check(temperature_k).map(sound_speed_m_s)
}

/// Mean gas temperature, K, that goes with a wave speed of 300 to 800 m/s: the inverse of [`wave_speed_m_s`].
pub fn gas_temperature_k(wave_speed_m_s: f64) -> Result<f64, EngineError> {
    Ok(WAVE_SPEED.check(wave_speed_m_s)?.powi(2) / (GAMMA * GAS_CONSTANT_J_KG_K))
}

/// Speed of sound, m/s, in dry air or gas like it, at a temperature that was checked.
pub(crate) fn sound_speed_m_s(temperature_k: f64) -> f64 {
    (GAMMA * GAS_CONSTANT_J_KG_K * temperature_k).sqrt()
}

/// Engine speed, rpm, at which the echo returns as the exhaust closes: N = E a/(12 L).
///
/// Exhaust duration 90 to 270 degrees, wave speed 300 to 800 m/s, length from the piston's face to the point of mean reflection
/// 0.1 to 5 m.
pub fn tuned_speed_rpm(exhaust_deg: f64, wave_speed_m_s: f64, length_m: f64) -> Result<f64, EngineError> {
    let length = TUNED_LENGTH.check(length_m)?;
    Ok(EXHAUST_OPEN.check(exhaust_deg)? * WAVE_SPEED.check(wave_speed_m_s)? / (12.0 * length))
}

/// Length from the piston's face to the point of mean reflection, m, that a speed of 500 to 30 000 rpm asks for: L = E a/(12
/// N).
///
/// Exhaust duration 90 to 270 degrees, wave speed 300 to 800 m/s.
pub fn tuned_length_m(exhaust_deg: f64, wave_speed_m_s: f64, rpm: f64) -> Result<f64, EngineError> {
    let speed = TUNED_SPEED.check(rpm)?;
    Ok(EXHAUST_OPEN.check(exhaust_deg)? * WAVE_SPEED.check(wave_speed_m_s)? / (12.0 * speed))
}

/// Length to add to a pipe, m, negative for length to cut, so that it is tuned to `wanted_rpm`, 500 to 30 000.
///
/// `length_m` is the length to the point of mean reflection now, 0.1 to 5 m; the other ranges are those of
/// [`tuned_length_m`]. Cutting the header moves the point by all that was cut; the exhaust duration and the gas are taken to
/// stay as they are.
pub fn length_to_add_m(
    exhaust_deg: f64,
    wave_speed_m_s: f64,
    length_m: f64,
    wanted_rpm: f64,
) -> Result<f64, EngineError> {
    let length = TUNED_LENGTH.check(length_m)?;
    Ok(tuned_length_m(exhaust_deg, wave_speed_m_s, wanted_rpm)? - length)
}

/// Tuned speed gained by each kelvin, rpm/K, near a mean gas temperature of 250 to 1500 K: dN/dT = N/(2 T).
pub fn speed_per_kelvin(tuned_rpm: f64, temperature_k: f64) -> Result<f64, EngineError> {
    Ok(TUNED_SPEED.check(tuned_rpm)? / (2.0 * GAS_TEMPERATURE.check(temperature_k)?))
}

/// Tuned speed, rpm, when the gas is `hotter_k` hotter (-800 to 800 K) than the `temperature_k` at which it is `tuned_rpm`:
/// N sqrt((T + dT)/T). Both temperatures 250 to 1500 K.
pub fn speed_when_hotter_rpm(tuned_rpm: f64, temperature_k: f64, hotter_k: f64) -> Result<f64, EngineError> {
    let before = GAS_TEMPERATURE.check(temperature_k)?;
    let after = GAS_TEMPERATURE.check(before + HOTTER.check(hotter_k)?)?;
    Ok(TUNED_SPEED.check(tuned_rpm)? * (after / before).sqrt())
}
