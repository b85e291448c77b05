//! The intake: case and tract as a bottle that rings, the speed that its ringing belongs to, and the area past the reeds.
//!
//! The air in the tract is a slug on the spring of the air in the case (Helmholtz's resonator): f = c/(2 pi) sqrt(A/(L V)).
//! Source: textbook acoustics (Rayleigh, The Theory of Sound, from memory; checked by integrating slug and spring). It is a
//! lumped model: the tract is short against the wave, the walls are stiff, the valve is open and does not throttle. So it
//! says where an intake leans to and how that moves, not where the engine breathes best.

use std::f64::consts::TAU;

use super::carburetor::jets::circle_m2;
use super::pipe::sound_speed_m_s;
use super::{Allowed, EngineError};

const BORE: Allowed = Allowed {
    field: "bore of the intake tract",
    unit: "m",
    low: 0.005,
    high: 0.08,
    help: "Give the inside diameter, in metres.",
};

const TRACT_AREA: Allowed = Allowed {
    field: "area of the intake tract",
    unit: "m2",
    low: 1e-5,
    high: 6e-3,
    help: "A bore of 36 mm has 1.02e-3 m2.",
};

const TRACT_LENGTH: Allowed = Allowed {
    field: "length of the intake tract",
    unit: "m",
    low: 1e-3,
    high: 1.0,
    help: "Give the length from the bell mouth to the reeds, the disc or the window, in metres.",
};

const CASE_AT_BOTTOM: Allowed = Allowed {
    field: "case volume at bottom dead centre",
    unit: "m3",
    low: 2e-5,
    high: 2e-3,
    help: "Give it in cubic metres; 400 cm3 is 4e-4.",
};

const SWEPT: Allowed = Allowed {
    field: "swept volume",
    unit: "m3",
    low: 1e-5,
    high: 1e-3,
    help: "Give it for one cylinder, in cubic metres; 125 cm3 is 1.25e-4.",
};

const CASE: Allowed = Allowed { field: "case volume", high: 3e-3, ..CASE_AT_BOTTOM };

const AIR_TEMPERATURE: Allowed = Allowed {
    field: "temperature of the air in the tract",
    unit: "K",
    low: 220.0,
    high: 400.0,
    help: "Give it in kelvin, 273.15 more than in degrees Celsius.",
};

const FREQUENCY: Allowed = Allowed {
    field: "frequency of the intake",
    unit: "Hz",
    low: 5.0,
    high: 2000.0,
    help: "Give swings a second; an intake has 60 to 250.",
};

const INTAKE_OPEN: Allowed = Allowed {
    field: "intake duration",
    unit: "degrees",
    low: 60.0,
    high: 300.0,
    help: "Give the degrees of crank from opening to closing.",
};

const PETALS: Allowed = Allowed {
    field: "number of petals",
    unit: "",
    low: 1.0,
    high: 24.0,
    help: "Count the petals of the whole block.",
};

const PETAL_WIDTH: Allowed = Allowed {
    field: "width of a petal",
    unit: "m",
    low: 0.003,
    high: 0.1,
    help: "Give the width of one petal, in metres.",
};

const PETAL_LENGTH: Allowed = Allowed {
    field: "free length of a petal",
    unit: "m",
    low: 0.005,
    high: 0.1,
    help: "Give the length from the clamp to the tip, in metres.",
};

const STOP_HEIGHT: Allowed = Allowed {
    field: "height of the reed stop",
    unit: "m",
    low: 1e-4,
    high: 0.04,
    help: "Give how far the tip can lift, in metres.",
};

/// Area of a round bore, m2, from its diameter, 0.005 to 0.08 m.
pub fn bore_area_m2(bore_m: f64) -> Result<f64, EngineError> {
    BORE.check(bore_m).map(circle_m2)
}

/// How an end of the tract looks to the air that swings through it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TractEnd {
    /// A plain tube end in free air.
    Free,
    /// Flush with a wide wall, as where the tract enters the case; near enough a wide bell mouth too (a choice, no source).
    Flush,
}

impl TractEnd {
    /// Length that swings along outside the end, in radii of the bore.
    ///
    /// Thin-walled free end 0.613 (Levine and Schwinger 1948), flush end 0.822 (both from memory, and computed in
    /// `tests/outside/pipe_intake.py`: 0.6127 and 0.8218). For sound that is long against the bore.
    fn radii(self) -> f64 {
        match self {
            Self::Free => 0.613,
            Self::Flush => 0.822,
        }
    }
}

/// Length to add to the tract, m, for the air that swings along outside one of its ends; bore 0.005 to 0.08 m.
///
/// It is left to the caller whether to add one: the formula's own error is as large. Reeds or a disc at the inner end change
/// it in ways that this does not know.
pub fn end_correction_m(bore_m: f64, end: TractEnd) -> Result<f64, EngineError> {
    Ok(end.radii() * BORE.check(bore_m)? / 2.0)
}

/// A piece of the intake tract that has one area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TractPiece {
    /// Length, m, 0.001 to 1; the last piece may carry an end correction.
    pub length_m: f64,
    /// Area, m2, 1e-5 to 6e-3.
    pub area_m2: f64,
}

/// Volume of the case with the piston at half stroke, m3: that at bottom dead centre and half the swept volume.
///
/// Case at bottom dead centre 2e-5 to 2e-3 m3, swept volume 1e-5 to 1e-3 m3. A choice: it is close to the mean over a
/// revolution. While the intake is open the piston stands higher, the case is larger, and the true note is a few percent
/// lower.
pub fn case_at_half_stroke_m3(case_at_bottom_m3: f64, swept_m3: f64) -> Result<f64, EngineError> {
    Ok(CASE_AT_BOTTOM.check(case_at_bottom_m3)? + SWEPT.check(swept_m3)? / 2.0)
}

/// Frequency, Hz, at which the tract swings on the case: f = c/(2 pi) sqrt(A/(L V)), and for pieces of different area
/// c/(2 pi) / sqrt(V sum(L/A)), because each piece's inertia goes as L/A.
///
/// At least one piece, case volume 2e-5 to 3e-3 m3, air 220 to 400 K; c is that of dry air with gamma 1.40 and
/// R 287.05 J/(kg K). Fuel vapour and drops make the true note lower.
pub fn helmholtz_frequency_hz(
    tract: &[TractPiece],
    case_m3: f64,
    air_temperature_k: f64,
) -> Result<f64, EngineError> {
    if tract.is_empty() {
        return Err(EngineError::TooFew {
            field: "intake tract",
            found: 0,
            needed: 1,
            help: "Give length and area of the tract, in one piece or several.",
        });
    }
    let mut length_over_area = 0.0;
    for piece in tract {
        length_over_area += TRACT_LENGTH.check(piece.length_m)? / TRACT_AREA.check(piece.area_m2)?;
    }
    let sound = sound_speed_m_s(AIR_TEMPERATURE.check(air_temperature_k)?);
    Ok(sound / TAU / (CASE.check(case_m3)? * length_over_area).sqrt())
}

/// Engine speed, rpm, at which the tract swings once a revolution: N = 60 f, f 5 to 2000 Hz.
///
/// For reeds, which open and shut with the swing and have no duration of their own. That one swing a revolution is the right
/// count is an assumption.
pub fn reed_intake_speed_rpm(frequency_hz: f64) -> Result<f64, EngineError> {
    Ok(60.0 * FREQUENCY.check(frequency_hz)?)
}

/// Engine speed, rpm, at which the intake is open for just half a swing, so that it closes as the inflow ends: N = D f/3.
///
/// For a piston port or a rotary valve; duration D 60 to 300 degrees, f 5 to 2000 Hz. Half a swing takes 1/(2 f) seconds and
/// the intake is open for D/(6 N): set equal, N = D f/3. At 180 degrees this is the speed of [`reed_intake_speed_rpm`]. An
/// assumption too: the suction that starts the swing is itself not sudden.
pub fn timed_intake_speed_rpm(open_deg: f64, frequency_hz: f64) -> Result<f64, EngineError> {
    Ok(INTAKE_OPEN.check(open_deg)? * FREQUENCY.check(frequency_hz)? / 3.0)
}

/// Area, m2, past the petals of a reed block when each lies against its stop: petals (width stop + length stop).
///
/// Petals 1 to 24, width 0.003 to 0.1 m, free length 0.005 to 0.1 m, height of the stop over the tip 0.0001 to 0.04 m and no
/// more than the length. The curtain under the tip, and the two triangles at the sides, which together make length times
/// stop. The petal is taken as a flat flap hinged at the clamp: a bent one has smaller sides. Walls between petals, the
/// block's windows under them and the case around them are left out, and may pass less than this. Geometry.
pub fn reed_area_m2(petals: u8, width_m: f64, length_m: f64, stop_m: f64) -> Result<f64, EngineError> {
    let petals = PETALS.check(f64::from(petals))?;
    let width = PETAL_WIDTH.check(width_m)?;
    let length = PETAL_LENGTH.check(length_m)?;
    let stop = STOP_HEIGHT.check(stop_m)?;
    if stop > length {
        return Err(EngineError::Contradiction {
            field: "height of the reed stop",
            found: stop,
            other: "free length of a petal",
            limit: length,
            unit: "m",
            help: "A tip cannot lift by more than the petal is long. Check both.",
        });
    }
    Ok(petals * (width * stop + length * stop))
}
