//! The units that may be written, and what each measures.

use serde::{Deserialize, Serialize};

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A plain number: a jet number, a count.
    Number,
    /// Length, SI metre.
    Length,
    /// Angle, kept in degrees.
    Angle,
    /// Volume, SI cubic metre.
    Volume,
    /// Pressure, SI pascal.
    Pressure,
    /// Temperature, SI kelvin.
    Temperature,
    /// Time, SI second.
    Time,
    /// Engine speed, kept in revolutions per minute.
    EngineSpeed,
    /// Mass, SI kilogram.
    Mass,
    /// Density, SI kilogram per cubic metre.
    Density,
    /// Volume flow, SI cubic metre per second.
    VolumeFlow,
    /// Mass flow, SI kilogram per second.
    MassFlow,
    /// A share, kept as a fraction of one.
    Share,
    /// Turns of a screw.
    Turns,
    /// Power, SI watt.
    Power,
    /// Torque, SI newton metre.
    Torque,
    /// Speed of a gas or a piston, SI metre per second.
    Velocity,
    /// Specific time-area of a port: time-area over swept volume, SI second per metre.
    TimeArea,
}

/// The units in which computed values are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Millimetres, degrees Celsius, hectopascals, metres.
    #[default]
    Metric,
    /// Inches, degrees Fahrenheit, inches of mercury, feet.
    Imperial,
}

/// One unit: every way to write it, the first being the way it is printed.
#[derive(Debug)]
pub(super) struct Unit {
    pub(super) dimension: Dimension,
    pub(super) symbols: &'static [&'static str],
    /// SI value of one unit.
    factor: f64,
    /// SI value of zero in this unit (temperatures only).
    offset: f64,
}

const fn unit(dimension: Dimension, symbols: &'static [&'static str], factor: f64) -> Unit {
    Unit { dimension, symbols, factor, offset: 0.0 }
}

const fn scale(symbols: &'static [&'static str], factor: f64, offset: f64) -> Unit {
    Unit { dimension: Dimension::Temperature, symbols, factor, offset }
}

const INCH: f64 = 0.0254;
const POUND: f64 = 0.453_592_37;
const GRAVITY: f64 = 9.806_65;
/// 231 cubic inches (NIST Handbook 44, appendix C; NIST SP 811, B.8; from memory), m3.
const US_GALLON: f64 = 231.0 * INCH * INCH * INCH;
/// 4.54609 litres (NIST SP 811, B.8; from memory), m3.
const IMPERIAL_GALLON: f64 = 4.546_09e-3;

use Dimension as D;

static UNITS: &[Unit] = &[
    unit(D::Number, &[""], 1.0),
    unit(D::Length, &["mm"], 1e-3),
    unit(D::Length, &["cm"], 1e-2),
    unit(D::Length, &["m"], 1.0),
    unit(D::Length, &["um", "µm", "μm"], 1e-6),
    unit(D::Length, &["in", "inch", "\""], INCH),
    unit(D::Length, &["thou"], INCH * 1e-3),
    unit(D::Length, &["ft"], 12.0 * INCH),
    unit(D::Angle, &["deg", "°", "degrees"], 1.0),
    unit(D::Volume, &["cc", "cm3", "cm³", "ml"], 1e-6),
    unit(D::Volume, &["l", "litre", "L"], 1e-3),
    unit(D::Volume, &["in3", "cu in"], INCH * INCH * INCH),
    unit(D::Pressure, &["hPa", "mbar", "mb"], 100.0),
    unit(D::Pressure, &["kPa"], 1000.0),
    unit(D::Pressure, &["Pa"], 1.0),
    unit(D::Pressure, &["bar"], 1e5),
    unit(D::Pressure, &["inHg", "\"Hg"], 3386.389),
    unit(D::Pressure, &["mmHg"], 133.322_387),
    unit(D::Pressure, &["psi"], POUND * GRAVITY / (INCH * INCH)),
    scale(&["C", "°C", "degC"], 1.0, 273.15),
    scale(&["F", "°F", "degF"], 5.0 / 9.0, 459.67 * 5.0 / 9.0),
    scale(&["K"], 1.0, 0.0),
    unit(D::Time, &["s", "sec"], 1.0),
    unit(D::Time, &["ms"], 1e-3),
    unit(D::Time, &["us", "µs", "μs"], 1e-6),
    unit(D::Time, &["min"], 60.0),
    unit(D::Time, &["h", "hour", "hours"], 3600.0),
    unit(D::EngineSpeed, &["rpm", "1/min", "r/min"], 1.0),
    unit(D::Mass, &["g"], 1e-3),
    unit(D::Mass, &["kg"], 1.0),
    unit(D::Mass, &["lb"], POUND),
    unit(D::Mass, &["oz"], POUND / 16.0),
    unit(D::Density, &["kg/m3", "kg/m³", "g/l"], 1.0),
    unit(D::Density, &["g/cc", "g/cm3", "g/cm³", "g/ml", "kg/l"], 1000.0),
    unit(D::Density, &["lb/US gal", "lb/USgal", "lb/US gallon"], POUND / US_GALLON),
    unit(D::Density, &["lb/imp gal", "lb/UK gal", "lb/imp gallon"], POUND / IMPERIAL_GALLON),
    unit(D::VolumeFlow, &["cc/min", "cm3/min", "ml/min"], 1e-6 / 60.0),
    unit(D::VolumeFlow, &["l/h"], 1e-3 / 3600.0),
    unit(D::MassFlow, &["g/min"], 1e-3 / 60.0),
    unit(D::MassFlow, &["g/s"], 1e-3),
    unit(D::MassFlow, &["lb/h"], POUND / 3600.0),
    unit(D::Share, &["%", "percent", "pct"], 0.01),
    unit(D::Turns, &["turns", "turn"], 1.0),
    unit(D::Power, &["kW"], 1000.0),
    unit(D::Power, &["W"], 1.0),
    unit(D::Power, &["PS"], 75.0 * GRAVITY),
    unit(D::Power, &["hp", "bhp"], 550.0 * POUND * GRAVITY * 12.0 * INCH),
    unit(D::Torque, &["Nm", "N m"], 1.0),
    unit(D::Torque, &["lb ft", "ft lb"], POUND * GRAVITY * 12.0 * INCH),
    unit(D::Velocity, &["m/s"], 1.0),
    unit(D::Velocity, &["ft/s"], 12.0 * INCH),
    unit(D::TimeArea, &["s/m"], 1.0),
    unit(D::TimeArea, &["s cm2/cm3", "s cm²/cm³", "s/cm"], 100.0),
];

impl Unit {
    /// The unit written `symbol` among the allowed dimensions.
    pub(super) fn by_symbol(symbol: &str, allowed: &[Dimension]) -> Option<&'static Self> {
        UNITS.iter().find(|unit| allowed.contains(&unit.dimension) && unit.is_written(symbol))
    }

    /// The unit written `symbol`, whatever it measures.
    pub(super) fn any(symbol: &str) -> Option<&'static Self> {
        UNITS.iter().find(|unit| unit.is_written(symbol))
    }

    /// Case is forgiven only where it cannot change the meaning ("MM", "hpa"): never for one letter.
    fn is_written(&self, symbol: &str) -> bool {
        self.symbols
            .iter()
            .any(|known| *known == symbol || (known.len() > 2 && known.eq_ignore_ascii_case(symbol)))
            || (symbol == "MM" && self.symbols[0] == "mm")
    }

    pub(super) fn symbol(&self) -> &'static str {
        self.symbols[0]
    }

    pub(super) fn to_si(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    pub(super) fn value_of(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }
}

/// Symbols that mean one unit to one reader and another to the next, with the two as they are told apart: the gallons are a fifth apart.
const EITHER_WAY: [(&[&str], [&str; 2]); 1] =
    [(&["lb/gal", "lbs/gal", "lb/gallon", "lbs/gallon"], ["lb/US gal", "lb/imp gal"])];

impl Unit {
    /// The two units that a symbol could be, of the allowed dimensions.
    pub(super) fn either_of(symbol: &str, allowed: &[Dimension]) -> Option<[&'static Self; 2]> {
        let (_, two) = EITHER_WAY
            .iter()
            .find(|(symbols, _)| symbols.iter().any(|known| known.eq_ignore_ascii_case(symbol)))?;
        Some([Self::by_symbol(two[0], allowed)?, Self::by_symbol(two[1], allowed)?])
    }
}

/// A symbol with its case forgiven as [`Unit::is_written`] forgives it.
fn symbol_pattern(symbol: &str) -> String {
    let either = |letter: char| match letter {
        'a'..='z' | 'A'..='Z' => format!("[{}{}]", letter.to_ascii_lowercase(), letter.to_ascii_uppercase()),
        other => other.to_string(),
    };
    match symbol {
        "mm" => "mm|MM".to_owned(),
        _ if symbol.len() > 2 => symbol.chars().map(either).collect(),
        _ => symbol.to_owned(),
    }
}

impl Dimension {
    /// All of them, for the free part of a document; plain numbers first.
    pub const ANY: &'static [Self] = &[
        D::Number,
        D::Length,
        D::Angle,
        D::Volume,
        D::Pressure,
        D::Temperature,
        D::Time,
        D::EngineSpeed,
        D::Mass,
        D::Density,
        D::VolumeFlow,
        D::MassFlow,
        D::Share,
        D::Turns,
        D::Power,
        D::Torque,
        D::Velocity,
        D::TimeArea,
    ];

    /// The units that a number without one could be meant in, in a garage that works in inches and degrees Fahrenheit:
    /// there it means one thing to one reader and another to the next.
    pub fn meant_either_way(self) -> Option<[&'static str; 2]> {
        match self {
            D::Length => Some(["in", "mm"]),
            D::Temperature => Some(["F", "C"]),
            _ => None,
        }
    }

    /// The trade's name for it, with its article.
    pub fn with_article(self) -> &'static str {
        match self {
            D::Number => "a plain number",
            D::Length => "a length",
            D::Angle => "an angle",
            D::Volume => "a volume",
            D::Pressure => "a pressure",
            D::Temperature => "a temperature",
            D::Time => "a time",
            D::EngineSpeed => "an engine speed",
            D::Mass => "a mass",
            D::Density => "a density",
            D::VolumeFlow => "a volume flow",
            D::MassFlow => "a mass flow",
            D::Share => "a percentage",
            D::Turns => "a number of turns",
            D::Power => "a power",
            D::Torque => "a torque",
            D::Velocity => "a speed in metres or feet per second",
            D::TimeArea => "a specific time-area",
        }
    }

    /// Several of them in words: "a length or an angle".
    pub fn names(dimensions: &[Self]) -> String {
        let words: Vec<_> = dimensions.iter().map(|d| d.with_article()).collect();
        words.join(" or ")
    }

    /// Every symbol that may be written for them; empty for plain numbers, which have none.
    pub fn symbols(dimensions: &[Self]) -> String {
        let symbols: Vec<_> = dimensions
            .iter()
            .flat_map(|d| UNITS.iter().filter(move |unit| unit.dimension == *d))
            .map(Unit::symbol)
            .filter(|symbol| !symbol.is_empty())
            .collect();
        symbols.join(", ")
    }

    /// A regular expression that every text with a quantity of them matches, for the JSON Schemas. It is not as strict as
    /// the reader: it only sees commas, stray words and units that are none or measure something else.
    pub(super) fn pattern(dimensions: &[Self]) -> String {
        let written: Vec<_> = dimensions
            .iter()
            .flat_map(|d| UNITS.iter().filter(move |unit| unit.dimension == *d))
            .flat_map(|unit| unit.symbols)
            .filter(|symbol| !symbol.is_empty())
            .map(|symbol| symbol_pattern(symbol))
            .collect();
        let number = "[+-]?[0-9.]([0-9./]|[eE][+-]?[0-9]| [0-9]+/)*";
        match written.join("|").as_str() {
            "" => format!("^\\s*{number}\\s*$"),
            units => format!("^\\s*{number}\\s*({units})?\\s*$"),
        }
    }

    /// A sample that would be accepted.
    pub(super) fn example(allowed: &[Self], bare_unit: &str) -> String {
        let digits = match allowed.first() {
            Some(D::Temperature) => "24",
            Some(D::Pressure) => "1008",
            Some(D::EngineSpeed) => "9500",
            Some(D::Number) => "172",
            _ => "1.5",
        };
        format!("{digits} {bare_unit}").trim().to_owned()
    }

    /// One of the unit in which a computed value is shown, in SI; of a temperature one degree.
    pub fn display_size(self, units: Units) -> f64 {
        Unit::any(self.display(units).0).map_or(1.0, |unit| unit.factor)
    }

    /// The unit in which a computed value is shown, and its usual decimals.
    pub fn display(self, units: Units) -> (&'static str, usize) {
        match (self, units) {
            (D::Length, Units::Metric) => ("mm", 2),
            (D::Length, Units::Imperial) => ("in", 4),
            (D::Volume, _) => ("cc", 2),
            (D::Pressure, Units::Metric) => ("hPa", 1),
            (D::Pressure, Units::Imperial) => ("inHg", 2),
            (D::Temperature, Units::Metric) => ("C", 1),
            (D::Temperature, Units::Imperial) => ("F", 1),
            (D::Time, _) => ("h", 1),
            (D::EngineSpeed, _) => ("rpm", 0),
            (D::Mass, _) => ("g", 1),
            (D::Density, _) => ("kg/m3", 4),
            (D::VolumeFlow, _) => ("cc/min", 1),
            (D::MassFlow, _) => ("g/min", 1),
            (D::Share, _) => ("%", 1),
            (D::Turns, _) => ("turns", 2),
            (D::Power, Units::Metric) => ("kW", 1),
            (D::Power, Units::Imperial) => ("hp", 1),
            (D::Torque, Units::Metric) => ("Nm", 1),
            (D::Torque, Units::Imperial) => ("lb ft", 1),
            (D::Velocity, Units::Metric) => ("m/s", 1),
            (D::Velocity, Units::Imperial) => ("ft/s", 1),
            (D::TimeArea, _) => ("s/m", 5),
            (D::Angle, _) => ("deg", 1),
            (D::Number, _) => ("", 2),
        }
    }
}
