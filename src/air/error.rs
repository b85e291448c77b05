//! What can be wrong with a reading of the air, in sentences.

/// What a reading is called where a way out is told, by its short name.
pub type Called = fn(&str) -> String;

/// Which reading a problem is about; [`name`](Self::name) is how a caller knows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Field {
    /// The air's temperature: `temp`.
    Temperature,
    /// The barometer's own reading: `baro`.
    Barometer,
    /// An altimeter setting: `qnh`.
    AltimeterSetting,
    /// A weather service's sea-level pressure: `sea_level`.
    SeaLevel,
    /// The track's height: `elevation`.
    Elevation,
    /// Relative humidity: `humidity`.
    Humidity,
    /// Dew point: `dew_point`.
    DewPoint,
    /// Wet bulb: `wet_bulb`.
    WetBulb,
    /// An airport weather report: `metar`.
    Metar,
}

impl Field {
    /// The field's short name, as a caller's option or column is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Temperature => "temp",
            Self::Barometer => "baro",
            Self::AltimeterSetting => "qnh",
            Self::SeaLevel => "sea_level",
            Self::Elevation => "elevation",
            Self::Humidity => "humidity",
            Self::DewPoint => "dew_point",
            Self::WetBulb => "wet_bulb",
            Self::Metar => "metar",
        }
    }

    /// The field in words, to begin a sentence with.
    fn words(self) -> &'static str {
        match self {
            Self::Temperature => "The temperature",
            Self::Barometer => "The barometer's pressure",
            Self::AltimeterSetting => "The altimeter setting (QNH)",
            Self::SeaLevel => "The sea-level pressure",
            Self::Elevation => "The elevation",
            Self::Humidity => "The relative humidity",
            Self::DewPoint => "The dew point",
            Self::WetBulb => "The wet bulb",
            Self::Metar => "The weather report",
        }
    }
}

/// Why a reading of the air is refused. The message says what was found and what is
/// allowed, [`help`](Self::help) the way out; both are sentences.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum AirError {
    /// Not a number, or infinite.
    #[error("{} is not a finite number: found {found}.", .field.words())]
    NotFinite {
        /// The reading concerned.
        field: Field,
        /// What was found.
        found: f64,
    },
    /// Outside what weather or a race track can be.
    #[error(
        "{} is {found:.1} {unit}; allowed is {lowest:.1} to {highest:.1} {unit}.",
        .field.words()
    )]
    OutOfRange {
        /// The reading concerned.
        field: Field,
        /// What was found, in `unit`.
        found: f64,
        /// The least allowed, in `unit`.
        lowest: f64,
        /// The most allowed, in `unit`.
        highest: f64,
        /// The unit of the three numbers.
        unit: &'static str,
    },
    /// A pressure that is only sensible in another unit.
    #[error(
        "{} is {hectopascal} hPa, which no barometer at a race track shows; allowed is \
         {lowest:.0} to {highest:.0} hPa.",
        .field.words()
    )]
    PressureUnit {
        /// The reading concerned.
        field: Field,
        /// What was found, hPa.
        hectopascal: f64,
        /// The least allowed, hPa.
        lowest: f64,
        /// The most allowed, hPa.
        highest: f64,
        /// What was probably meant, such as "29.92 inHg".
        likely: String,
    },
    /// A barometer's pressure that cannot be true at the height given with it.
    #[error(
        "The barometer's pressure is {:.1} hPa, but at {elevation_m:.0} m the standard \
         atmosphere has {:.1} hPa and weather moves it by no more than {:.0} hPa.",
        .station_pa / 100.0, .standard_pa / 100.0, .allowed_pa / 100.0
    )]
    PressureContradictsElevation {
        /// The pressure given as the barometer's own, Pa.
        station_pa: f64,
        /// The height given with it, m.
        elevation_m: f64,
        /// The standard atmosphere's pressure there, Pa.
        standard_pa: f64,
        /// How far from it is still believed, Pa.
        allowed_pa: f64,
        /// The station pressure were the reading an altimeter setting, Pa.
        if_setting_pa: f64,
    },
    /// Dew point or wet bulb above the air's own temperature.
    #[error(
        "{} is {found_c:.1} C, above the temperature of {temperature_c:.1} C; at most equal \
         is possible.",
        .field.words()
    )]
    AboveTemperature {
        /// Dew point or wet bulb.
        field: Field,
        /// What was found, °C.
        found_c: f64,
        /// The air's temperature, °C.
        temperature_c: f64,
    },
    /// A wet bulb lower than perfectly dry air would show.
    #[error(
        "The wet bulb is {wet_bulb_c:.1} C at a temperature of {temperature_c:.1} C; even \
         perfectly dry air shows no less than {lowest_c:.1} C."
    )]
    WetBulbTooDry {
        /// What was found, °C.
        wet_bulb_c: f64,
        /// The air's temperature, °C.
        temperature_c: f64,
        /// The lowest possible wet bulb, °C.
        lowest_c: f64,
    },
    /// A doubt (half-width) that is negative or not a number.
    #[error("{} has a doubt of {found}; it must be zero or a positive number.", .field.words())]
    BadDoubt {
        /// The reading whose doubt it is.
        field: Field,
        /// What was found.
        found: f64,
    },
    /// Text that is not an airport weather report.
    #[error(
        "This is not an airport weather report (METAR): found \"{found}\" where a station of \
         four letters and a time such as 221630Z are expected."
    )]
    NotMetar {
        /// The beginning of what was found.
        found: String,
    },
    /// A forecast (TAF) instead of a report.
    #[error("This is an airport forecast (TAF) for {station}, not a report (METAR).")]
    MetarIsForecast {
        /// The station.
        station: String,
    },
    /// A report that says there is no report.
    #[error("The report of {station} is NIL: it holds no observation.")]
    MetarNil {
        /// The station.
        station: String,
    },
    /// A group of the report that cannot be true.
    #[error("The group \"{found}\" of the weather report cannot be read: {expected}.")]
    MetarGroup {
        /// The group as written.
        found: String,
        /// What it should be.
        expected: &'static str,
    },
    /// Two altimeter settings of one report that differ by more than their rounding.
    #[error(
        "The report's altimeter settings contradict each other: {one} is {:.1} hPa, {other} is {:.1} hPa.",
        .one_pa / 100.0, .other_pa / 100.0
    )]
    MetarContradicts {
        /// One group as written.
        one: String,
        /// Its value, Pa.
        one_pa: f64,
        /// The other.
        other: String,
        /// Its value, Pa.
        other_pa: f64,
    },
    /// A report that lacks what was asked of it.
    #[error("The report of {station} gives no {missing}.")]
    MetarWithout {
        /// The station.
        station: String,
        /// What is missing, in words.
        missing: &'static str,
        /// The reading that can be given instead.
        field: Field,
    },
}

impl AirError {
    /// The short name of the reading concerned: `temp`, `baro`, `qnh`, `sea_level`,
    /// `elevation`, `humidity`, `dew_point`, `wet_bulb` or `metar`.
    pub fn field(&self) -> &'static str {
        match self {
            Self::NotFinite { field, .. }
            | Self::OutOfRange { field, .. }
            | Self::PressureUnit { field, .. }
            | Self::AboveTemperature { field, .. }
            | Self::BadDoubt { field, .. } => field.name(),
            Self::PressureContradictsElevation { .. } => Field::Barometer.name(),
            Self::WetBulbTooDry { .. } => Field::WetBulb.name(),
            Self::NotMetar { .. }
            | Self::MetarIsForecast { .. }
            | Self::MetarNil { .. }
            | Self::MetarGroup { .. }
            | Self::MetarContradicts { .. }
            | Self::MetarWithout { .. } => Field::Metar.name(),
        }
    }

    /// The way out, in a sentence or two; `called` says what the place where it is told calls the reading of a short name: a
    /// document its field, a command line its option.
    pub fn help(&self, called: Called) -> String {
        match self {
            Self::NotFinite { .. } => "Give the value as a plain number with its unit.".into(),
            Self::OutOfRange { field, found, .. } => help_for_range(*field, *found, called),
            Self::PressureUnit { likely, .. } => {
                format!("Write the unit with the number: it was probably {likely}.")
            }
            Self::PressureContradictsElevation { station_pa, standard_pa, if_setting_pa, .. }
                if station_pa > standard_pa =>
            {
                format!(
                    "If it is an airport's altimeter setting, give it as {}: the barometer would then show {:.1} \
                     hPa. If it is a weather service's sea-level pressure, give it as {}. If the barometer really \
                     shows it, correct the elevation.",
                    called(Field::AltimeterSetting.name()),
                    if_setting_pa / 100.0,
                    called(Field::SeaLevel.name()),
                )
            }
            Self::PressureContradictsElevation { .. } => {
                format!(
                    "It is too low for this height: check the elevation and its unit (feet or metres), and the unit \
                     of the pressure. An airport's altimeter setting is given as {}, a weather service's sea-level \
                     pressure as {}.",
                    called(Field::AltimeterSetting.name()),
                    called(Field::SeaLevel.name()),
                )
            }
            Self::AboveTemperature { field, .. } => match field {
                Field::WetBulb => {
                    "Check that wet and dry bulb were not exchanged, and that both have the same \
                     unit."
                        .into()
                }
                _ => "Check that dew point and temperature were not exchanged, that both have \
                      the same unit, and that both were read at the same time."
                    .into(),
            },
            Self::WetBulbTooDry { .. } => {
                "Check the unit of both bulbs and the station pressure, and that the dry bulb was \
                 not in the sun."
                    .into()
            }
            Self::BadDoubt { .. } => {
                "Give the half-width within which the true value is sure to lie, such as 0.5 C.".into()
            }
            Self::NotMetar { .. } => "Paste one whole report, such as \"YUDO 221630Z 17/16 Q1018\".".into(),
            Self::MetarIsForecast { .. } => {
                "A forecast holds no measured temperature or pressure: paste the METAR of the same \
                 airport."
                    .into()
            }
            Self::MetarNil { .. } => {
                "Use an earlier report or another airport, or read the air at the track.".into()
            }
            Self::MetarGroup { .. } => {
                "Compare the group with the report as it was published, and type it again.".into()
            }
            Self::MetarContradicts { .. } => {
                format!(
                    "Compare both groups with the report as it was published; or read the pressure at the track and give it as {}, without the report.",
                    called(Field::Barometer.name())
                )
            }
            Self::MetarWithout { field, .. } => {
                format!("Give it yourself with {}, or use another airport's report.", called(field.name()))
            }
        }
    }
}

/// The way out for a value outside its range.
fn help_for_range(field: Field, found: f64, called: Called) -> String {
    match field {
        Field::Temperature => "Check the unit: 86 F is 30 C.".into(),
        Field::DewPoint | Field::WetBulb => "Check the unit: 50 F is 10 C.".into(),
        Field::Barometer => {
            "Give the pressure that a barometer at the track shows, not corrected to sea level.".into()
        }
        Field::AltimeterSetting | Field::SeaLevel => {
            format!(
                "Such a pressure is near 1013 hPa wherever you are. If this is what a barometer at the track shows, \
                 give it as {}.",
                called(Field::Barometer.name())
            )
        }
        Field::Elevation => "Check the unit: 5430 ft is 1655 m.".into(),
        Field::Humidity if found > 100.0 => {
            "Air holds no more vapour than 100 %. Write percent or a fraction: 55 % or 0.55.".into()
        }
        Field::Humidity => "Air without any vapour has 0 %; it cannot have less.".into(),
        Field::Metar => "Paste the report as it was published.".into(),
    }
}
