//! The kinds of field that documents use, and the look-up of a kind by the name its schema carries.

use super::{Dimension, Kind, Measure};

macro_rules! kinds {
    ($(
        $(#[$doc:meta])* $alias:ident, $kind:ident, $name:literal, [$($dimension:ident),+], $unit:literal
        $(, fraction = $fraction:literal)?;
    )+) => {
        $(
            #[doc = concat!("Marks a field as `", $name, "`.")]
            #[derive(Debug, Clone, Copy)]
            pub struct $kind;
            impl Kind for $kind {
                const NAME: &'static str = $name;
                const DIMENSIONS: &'static [Dimension] = &[$(Dimension::$dimension),+];
                const UNIT: &'static str = $unit;
                $(const FRACTION: bool = $fraction;)?
            }
            $(#[$doc])*
            pub type $alias = Measure<$kind>;
        )+

        /// Dimensions and bare unit of the kind that a schema calls `name`.
        pub fn kind_by_name(name: &str) -> Option<(&'static [Dimension], &'static str)> {
            match name {
                $($name => Some(($kind::DIMENSIONS, $kind::UNIT)),)+
                _ => None,
            }
        }
    };
}

kinds! {
    /// A plain number.
    Number, NumberKind, "number", [Number], "";
    /// A length; bare numbers are millimetres.
    Length, LengthKind, "length", [Length], "mm";
    /// A height above the sea; bare numbers are metres.
    Elevation, ElevationKind, "elevation", [Length], "m";
    /// An angle; bare numbers are degrees.
    Angle, AngleKind, "angle", [Angle], "deg";
    /// A place before top dead centre: an angle, or piston travel; bare numbers are degrees.
    BeforeTopCentre, BeforeTopCentreKind, "before-top-centre", [Angle, Length], "deg";
    /// A volume; bare numbers are cubic centimetres.
    Volume, VolumeKind, "volume", [Volume], "cc";
    /// A pressure; bare numbers are hectopascals.
    Pressure, PressureKind, "pressure", [Pressure], "hPa";
    /// A temperature; bare numbers are degrees Celsius.
    Temperature, TemperatureKind, "temperature", [Temperature], "C";
    /// Running time; bare numbers are hours.
    Hours, HoursKind, "hours", [Time], "h";
    /// A short delay of an electronic box; bare numbers are microseconds.
    Delay, DelayKind, "delay", [Time], "us";
    /// Injector dead time; bare numbers are milliseconds.
    DeadTime, DeadTimeKind, "dead-time", [Time], "ms";
    /// Engine speed; bare numbers are revolutions per minute.
    EngineSpeed, EngineSpeedKind, "engine-speed", [EngineSpeed], "rpm";
    /// A mass; bare numbers are grams.
    Mass, MassKind, "mass", [Mass], "g";
    /// A density; bare numbers are kilograms per cubic metre.
    Density, DensityKind, "density", [Density], "kg/m3";
    /// Injector flow by volume or by mass; bare numbers are cubic centimetres per minute.
    InjectorFlow, InjectorFlowKind, "injector-flow", [VolumeFlow, MassFlow], "cc/min";
    /// A share; bare numbers are percent.
    Percent, PercentKind, "percent", [Share], "%";
    /// Relative humidity; bare numbers are percent, except that one above 0 and below 1 is a fraction: 0.5 is 50 %.
    RelativeHumidity, RelativeHumidityKind, "relative-humidity", [Share], "%", fraction = true;
    /// Turns of a screw from lightly seated; bare numbers are turns.
    Turns, TurnsKind, "turns", [Turns], "turns";
    /// The speed of a gas or a piston; bare numbers are metres per second.
    Velocity, VelocityKind, "velocity", [Velocity], "m/s";
    /// Specific time-area of a port; bare numbers are seconds per metre.
    TimeArea, TimeAreaKind, "time-area", [TimeArea], "s/m";
    /// A tightening torque; bare numbers are newton metres.
    Torque, TorqueKind, "torque", [Torque], "Nm";
    /// An edge of something measured at a build: a length, a share of the bore, a volume or a mass; bare numbers are
    /// millimetres.
    FigureLimit, FigureLimitKind, "figure-limit", [Length, Share, Volume, Mass], "mm";
}
