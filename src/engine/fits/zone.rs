//! Tolerance zones of ISO 286-1:2010 for nominal sizes above 3 up to 500 mm: the zones a two-stroke builder
//! meets.
//!
//! A zone is a letter, which says where it lies, and a grade, which says how wide it is: H7 is a hole, k5 a
//! shaft. The printed tables rule here, not the formulas they were once rounded from.
//!
//! # Sources
//!
//! *Read second hand* in a textbook of machine drawing that copies ISO 286-1 (its tables 15.1 to 15.3): IT3
//! to IT11; shafts g and k up to 14 mm and above 180 mm; shafts m to s up to 180 mm; holes J to N above 120
//! mm; P, R, S and delta above 180 mm. *Read second hand* in Machinery's Handbook 31, table 6a (BS
//! 4500:1969): holes J to N up to 250 mm. *Read second hand* as limits in the tables of bearing makers and
//! in JIS B 0401:1999: shafts g, j and k between. What is left (shafts m to s above 180 mm) is printed for
//! the holes with the other sign; j7 above 14 up to 180 mm is *from memory*.
//!
//! # Holes K to R
//!
//! In the fine grades, where a fit is made with a shaft one grade finer, such a hole is lifted by
//! `delta = IT(n) - IT(n-1)`, so that H7/p6 and P7/h6 fit alike: K, M and N up to IT8, P and R up to IT7. One entry
//! of the table does not follow: M6 above 250 up to 315 mm is -9 um, not -11 (read second hand, the
//! textbook's footnote).

use std::fmt;

use crate::engine::{Allowed, EngineError};

/// Why a zone, or a fit of two zones, has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ZoneError {
    /// The text is not a letter and a grade.
    #[error(
        "\"{found}\" is no tolerance zone. Write the letter and then the grade: H7 for a hole, k5 for a shaft."
    )]
    NotAZone {
        /// What was written.
        found: String,
    },
    /// A letter that is not kept here.
    #[error(
        "The letter {found} of a tolerance zone is not known; allowed are H, J, JS, K, M, N, P and R for a hole, g, h, j, js, k, m, n, p, r and s for a shaft. Capitals stand for holes, small letters for shafts."
    )]
    UnknownLetter {
        /// The letter or letters.
        found: String,
    },
    /// A grade that the letter does not have.
    #[error("The grade {found} is not known for {letter}; allowed is {low} to {high}. Check the drawing.")]
    UnknownGrade {
        /// The letter.
        letter: &'static str,
        /// The grade as it was written.
        found: String,
        /// The finest grade.
        low: u8,
        /// The coarsest grade.
        high: u8,
    },
    /// A shaft's zone where a hole's belongs, or the other way round.
    #[error(
        "{found} is the zone of a {is}, and a {wanted} is asked for. Capitals stand for holes, small letters for shafts."
    )]
    WrongSide {
        /// The zone.
        found: ToleranceZone,
        /// What it is.
        is: HoleOrShaft,
        /// What is asked for.
        wanted: HoleOrShaft,
    },
    /// A size is out of range.
    #[error(transparent)]
    Quantity(#[from] EngineError),
}

/// Whether a zone is that of a hole or of a shaft.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoleOrShaft {
    /// An inner surface: a bearing seat in the case, the bore of a ring. Written with capitals.
    Hole,
    /// An outer surface: a journal, a pin, the outside of a bearing. Written with small letters.
    Shaft,
}

impl fmt::Display for HoleOrShaft {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Hole => "hole",
            Self::Shaft => "shaft",
        })
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Letter {
    G,
    H,
    J,
    Js,
    K,
    M,
    N,
    P,
    R,
    S,
}

/// Every letter that is kept, as it is written.
const LETTERS: [(&str, HoleOrShaft, Letter); 18] = [
    ("H", HoleOrShaft::Hole, Letter::H),
    ("J", HoleOrShaft::Hole, Letter::J),
    ("JS", HoleOrShaft::Hole, Letter::Js),
    ("K", HoleOrShaft::Hole, Letter::K),
    ("M", HoleOrShaft::Hole, Letter::M),
    ("N", HoleOrShaft::Hole, Letter::N),
    ("P", HoleOrShaft::Hole, Letter::P),
    ("R", HoleOrShaft::Hole, Letter::R),
    ("g", HoleOrShaft::Shaft, Letter::G),
    ("h", HoleOrShaft::Shaft, Letter::H),
    ("j", HoleOrShaft::Shaft, Letter::J),
    ("js", HoleOrShaft::Shaft, Letter::Js),
    ("k", HoleOrShaft::Shaft, Letter::K),
    ("m", HoleOrShaft::Shaft, Letter::M),
    ("n", HoleOrShaft::Shaft, Letter::N),
    ("p", HoleOrShaft::Shaft, Letter::P),
    ("r", HoleOrShaft::Shaft, Letter::R),
    ("s", HoleOrShaft::Shaft, Letter::S),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)]
enum Grade {
    It4,
    It5,
    It6,
    It7,
    It8,
    It9,
    It10,
    It11,
}

const GRADES: [(u8, Grade); 8] = [
    (4, Grade::It4),
    (5, Grade::It5),
    (6, Grade::It6),
    (7, Grade::It7),
    (8, Grade::It8),
    (9, Grade::It9),
    (10, Grade::It10),
    (11, Grade::It11),
];

/// The grades for which the tables give a letter.
fn grades_of(side: HoleOrShaft, letter: Letter) -> (u8, u8) {
    match (side, letter) {
        (HoleOrShaft::Hole, Letter::J) => (6, 8),
        (HoleOrShaft::Shaft, Letter::J) => (5, 7),
        (HoleOrShaft::Hole, Letter::K) => (4, 8),
        _ => (4, 11),
    }
}

/// A tolerance zone of ISO 286-1:2010, grades IT4 to IT11.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ToleranceZone {
    written: &'static str,
    side: HoleOrShaft,
    letter: Letter,
    number: u8,
    grade: Grade,
}

/// What a zone allows at one nominal size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Lower limit deviation from the nominal size, m.
    pub lower_deviation_m: f64,
    /// Upper limit deviation from the nominal size, m.
    pub upper_deviation_m: f64,
    /// The least diameter allowed at 20 C, m.
    pub least_m: f64,
    /// The greatest diameter allowed at 20 C, m.
    pub most_m: f64,
}

impl ToleranceZone {
    /// Reads a zone as a drawing writes it, "H7" or "k5"; blanks around it do not matter.
    pub fn parse(text: &str) -> Result<Self, ZoneError> {
        let text = text.trim();
        let (letters, digits) =
            text.split_at(text.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(text.len()));
        let number = digits.parse::<u32>();
        let (false, true, Ok(number)) =
            (letters.is_empty(), digits.bytes().all(|digit| digit.is_ascii_digit()), number)
        else {
            return Err(ZoneError::NotAZone { found: text.to_owned() });
        };
        let Some(&(written, side, letter)) = LETTERS.iter().find(|known| known.0 == letters) else {
            return Err(ZoneError::UnknownLetter { found: letters.to_owned() });
        };
        let (low, high) = grades_of(side, letter);
        let known =
            GRADES.iter().find(|grade| u32::from(grade.0) == number && (low..=high).contains(&grade.0));
        let Some(&(number, grade)) = known else {
            return Err(ZoneError::UnknownGrade { letter: written, found: digits.to_owned(), low, high });
        };
        Ok(Self { written, side, letter, number, grade })
    }

    /// Whether it is the zone of a hole or of a shaft.
    pub fn side(self) -> HoleOrShaft {
        self.side
    }

    /// The zone itself when it is on the side asked for; otherwise the error says on which it is.
    pub fn on(self, wanted: HoleOrShaft) -> Result<Self, ZoneError> {
        if self.side == wanted {
            Ok(self)
        } else {
            Err(ZoneError::WrongSide { found: self, is: self.side, wanted })
        }
    }

    /// What the zone allows at a nominal size above 3 mm, up to 500 mm, given in m. Exact as the table.
    pub fn limits(self, nominal_m: f64) -> Result<Limits, EngineError> {
        let (nominal_mm, step) = step_of(nominal_m)?;
        let (width, delta) = step.width_and_delta(self.grade);
        let (lower, upper) = match self.side {
            HoleOrShaft::Hole => self.hole_deviations_um(step, nominal_mm, width, delta),
            HoleOrShaft::Shaft => self.shaft_deviations_um(step, nominal_mm, width),
        };
        let (lower_deviation_m, upper_deviation_m) = (1e-6 * lower, 1e-6 * upper);
        Ok(Limits {
            lower_deviation_m,
            upper_deviation_m,
            least_m: nominal_m + lower_deviation_m,
            most_m: nominal_m + upper_deviation_m,
        })
    }

    fn shaft_deviations_um(self, step: &SizeStep, nominal_mm: f64, width: f64) -> (f64, f64) {
        let lower = match self.letter {
            Letter::G => -step.g - width,
            Letter::H => -width,
            Letter::Js => -width / 2.0,
            Letter::J if self.grade <= Grade::It6 => -step.j_fine,
            Letter::J => -step.j7,
            Letter::K if self.grade > Grade::It7 => 0.0,
            letter => step.away_from_nominal(letter, nominal_mm),
        };
        (lower, lower + width)
    }

    fn hole_deviations_um(self, step: &SizeStep, nominal_mm: f64, width: f64, delta: f64) -> (f64, f64) {
        let lifted = match self.letter {
            Letter::K | Letter::M | Letter::N => self.grade <= Grade::It8,
            _ => self.grade <= Grade::It7,
        };
        let upper = match self.letter {
            Letter::H => width,
            Letter::Js => width / 2.0,
            Letter::J if self.grade == Grade::It6 => step.hole_j6,
            Letter::J if self.grade == Grade::It7 => step.hole_j7,
            Letter::J => step.hole_j8,
            Letter::N if !lifted => 0.0,
            // The one entry that does not follow the rule; it is printed so.
            Letter::M if self.grade == Grade::It6 && is_m6_exception(nominal_mm) => -9.0,
            letter => {
                let lift = if lifted { delta } else { 0.0 };
                lift - step.away_from_nominal(letter, nominal_mm)
            }
        };
        (upper - width, upper)
    }
}

impl fmt::Display for ToleranceZone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.written, self.number)
    }
}

/// The standard tolerance of a grade from 4 to 11, in m, at a nominal size above 3 mm up to 500 mm, given
/// in m.
pub fn standard_tolerance_m(grade: u8, nominal_m: f64) -> Result<f64, ZoneError> {
    let Some(&(_, grade)) = GRADES.iter().find(|known| known.0 == grade) else {
        return Err(ZoneError::UnknownGrade { letter: "IT", found: grade.to_string(), low: 4, high: 11 });
    };
    let (_, step) = step_of(nominal_m)?;
    Ok(1e-6 * step.width_and_delta(grade).0)
}

const NOMINAL: Allowed = Allowed {
    field: "nominal size",
    unit: "m",
    low: 0.003,
    high: 0.5,
    help: "The tables kept here are for nominal sizes above 3 mm up to 500 mm.",
};

/// A millionth of a millimetre: what millimetres written in metres may be off by, so that 50 mm stays in
/// the step up to 50 mm.
const ROUNDING_MM: f64 = 1e-6;

/// The nominal size in mm and the step of the table it lies in.
fn step_of(nominal_m: f64) -> Result<(f64, &'static SizeStep), EngineError> {
    let nominal_mm = 1e3 * NOMINAL.check(nominal_m)?;
    let above_the_least = nominal_mm > 3.0 + ROUNDING_MM;
    STEPS.iter().find(|step| above_the_least && nominal_mm <= step.up_to_mm + ROUNDING_MM).map_or_else(
        || {
            // 3 mm itself belongs to the step below, which is not kept.
            Err(EngineError::OutOfRange {
                field: NOMINAL.field,
                found: nominal_m,
                unit: NOMINAL.unit,
                low: NOMINAL.low,
                high: NOMINAL.high,
                help: "3 mm itself belongs to the sizes up to 3 mm, which are not kept here: take a size above it.",
            })
        },
        |step| Ok((nominal_mm, step)),
    )
}

/// Above 250 up to 315 mm.
fn is_m6_exception(nominal_mm: f64) -> bool {
    nominal_mm > 250.0 + ROUNDING_MM && nominal_mm <= 315.0 + ROUNDING_MM
}

/// A step of nominal sizes. All that follows is in um; a letter's value is how far its zone begins away
/// from the nominal size.
struct SizeStep {
    up_to_mm: f64,
    /// IT3 to IT11; IT3 only for the delta of IT4.
    widths: [f64; 9],
    g: f64,
    k: f64,
    m: f64,
    n: f64,
    p: f64,
    /// j5 and j6 of shafts, downwards.
    j_fine: f64,
    j7: f64,
    hole_j6: f64,
    hole_j7: f64,
    hole_j8: f64,
}

impl SizeStep {
    /// IT of the grade, and by how much it is above the grade one finer.
    fn width_and_delta(&self, grade: Grade) -> (f64, f64) {
        let [it3, it4, it5, it6, it7, it8, it9, it10, it11] = self.widths;
        let (width, finer) = match grade {
            Grade::It4 => (it4, it3),
            Grade::It5 => (it5, it4),
            Grade::It6 => (it6, it5),
            Grade::It7 => (it7, it6),
            Grade::It8 => (it8, it7),
            Grade::It9 => (it9, it8),
            Grade::It10 => (it10, it9),
            Grade::It11 => (it11, it10),
        };
        (width, width - finer)
    }

    /// How far the zone of a shaft k to s begins above the nominal size; those that lie otherwise are
    /// nought away.
    fn away_from_nominal(&self, letter: Letter, nominal_mm: f64) -> f64 {
        let fine = FINE_STEPS.iter().find(|fine| nominal_mm <= fine.0 + ROUNDING_MM);
        match letter {
            Letter::K => self.k,
            Letter::M => self.m,
            Letter::N => self.n,
            Letter::P => self.p,
            Letter::R => fine.map_or(0.0, |fine| fine.1),
            Letter::S => fine.map_or(0.0, |fine| fine.2),
            Letter::G | Letter::H | Letter::J | Letter::Js => 0.0,
        }
    }
}

#[rustfmt::skip]
const STEPS: [SizeStep; 12] = [
    SizeStep { up_to_mm: 6.0, widths: [2.5, 4.0, 5.0, 8.0, 12.0, 18.0, 30.0, 48.0, 75.0],
           g: 4.0, k: 1.0, m: 4.0, n: 8.0, p: 12.0,
           j_fine: 2.0, j7: 4.0, hole_j6: 5.0, hole_j7: 6.0, hole_j8: 10.0 },
    SizeStep { up_to_mm: 10.0, widths: [2.5, 4.0, 6.0, 9.0, 15.0, 22.0, 36.0, 58.0, 90.0],
           g: 5.0, k: 1.0, m: 6.0, n: 10.0, p: 15.0,
           j_fine: 2.0, j7: 5.0, hole_j6: 5.0, hole_j7: 8.0, hole_j8: 12.0 },
    SizeStep { up_to_mm: 18.0, widths: [3.0, 5.0, 8.0, 11.0, 18.0, 27.0, 43.0, 70.0, 110.0],
           g: 6.0, k: 1.0, m: 7.0, n: 12.0, p: 18.0,
           j_fine: 3.0, j7: 6.0, hole_j6: 6.0, hole_j7: 10.0, hole_j8: 15.0 },
    SizeStep { up_to_mm: 30.0, widths: [4.0, 6.0, 9.0, 13.0, 21.0, 33.0, 52.0, 84.0, 130.0],
           g: 7.0, k: 2.0, m: 8.0, n: 15.0, p: 22.0,
           j_fine: 4.0, j7: 8.0, hole_j6: 8.0, hole_j7: 12.0, hole_j8: 20.0 },
    SizeStep { up_to_mm: 50.0, widths: [4.0, 7.0, 11.0, 16.0, 25.0, 39.0, 62.0, 100.0, 160.0],
           g: 9.0, k: 2.0, m: 9.0, n: 17.0, p: 26.0,
           j_fine: 5.0, j7: 10.0, hole_j6: 10.0, hole_j7: 14.0, hole_j8: 24.0 },
    SizeStep { up_to_mm: 80.0, widths: [5.0, 8.0, 13.0, 19.0, 30.0, 46.0, 74.0, 120.0, 190.0],
           g: 10.0, k: 2.0, m: 11.0, n: 20.0, p: 32.0,
           j_fine: 7.0, j7: 12.0, hole_j6: 13.0, hole_j7: 18.0, hole_j8: 28.0 },
    SizeStep { up_to_mm: 120.0, widths: [6.0, 10.0, 15.0, 22.0, 35.0, 54.0, 87.0, 140.0, 220.0],
           g: 12.0, k: 3.0, m: 13.0, n: 23.0, p: 37.0,
           j_fine: 9.0, j7: 15.0, hole_j6: 16.0, hole_j7: 22.0, hole_j8: 34.0 },
    SizeStep { up_to_mm: 180.0, widths: [8.0, 12.0, 18.0, 25.0, 40.0, 63.0, 100.0, 160.0, 250.0],
           g: 14.0, k: 3.0, m: 15.0, n: 27.0, p: 43.0,
           j_fine: 11.0, j7: 18.0, hole_j6: 18.0, hole_j7: 26.0, hole_j8: 41.0 },
    SizeStep { up_to_mm: 250.0, widths: [10.0, 14.0, 20.0, 29.0, 46.0, 72.0, 115.0, 185.0, 290.0],
           g: 15.0, k: 4.0, m: 17.0, n: 31.0, p: 50.0,
           j_fine: 13.0, j7: 21.0, hole_j6: 22.0, hole_j7: 30.0, hole_j8: 47.0 },
    SizeStep { up_to_mm: 315.0, widths: [12.0, 16.0, 23.0, 32.0, 52.0, 81.0, 130.0, 210.0, 320.0],
           g: 17.0, k: 4.0, m: 20.0, n: 34.0, p: 56.0,
           j_fine: 16.0, j7: 26.0, hole_j6: 25.0, hole_j7: 36.0, hole_j8: 55.0 },
    SizeStep { up_to_mm: 400.0, widths: [13.0, 18.0, 25.0, 36.0, 57.0, 89.0, 140.0, 230.0, 360.0],
           g: 18.0, k: 4.0, m: 21.0, n: 37.0, p: 62.0,
           j_fine: 18.0, j7: 28.0, hole_j6: 29.0, hole_j7: 39.0, hole_j8: 60.0 },
    SizeStep { up_to_mm: 500.0, widths: [15.0, 20.0, 27.0, 40.0, 63.0, 97.0, 155.0, 250.0, 400.0],
           g: 20.0, k: 5.0, m: 23.0, n: 40.0, p: 68.0,
           j_fine: 20.0, j7: 32.0, hole_j6: 33.0, hole_j7: 43.0, hole_j8: 66.0 },
];

/// The finer steps of r and s: up to mm, r, s.
#[rustfmt::skip]
const FINE_STEPS: [(f64, f64, f64); 21] = [
    (6.0, 15.0, 19.0), (10.0, 19.0, 23.0), (18.0, 23.0, 28.0),
    (30.0, 28.0, 35.0), (50.0, 34.0, 43.0), (65.0, 41.0, 53.0),
    (80.0, 43.0, 59.0), (100.0, 51.0, 71.0), (120.0, 54.0, 79.0),
    (140.0, 63.0, 92.0), (160.0, 65.0, 100.0), (180.0, 68.0, 108.0),
    (200.0, 77.0, 122.0), (225.0, 80.0, 130.0), (250.0, 84.0, 140.0),
    (280.0, 94.0, 158.0), (315.0, 98.0, 170.0), (355.0, 108.0, 190.0),
    (400.0, 114.0, 208.0), (450.0, 126.0, 232.0), (500.0, 132.0, 252.0),
];
