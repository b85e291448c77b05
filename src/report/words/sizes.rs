//! Quantities in the units that are shown: only here is a garage in inches told from one in millimetres.

use crate::advice::building::FigureUnit;
use crate::quantity::{Dimension, Quantity, Units, fixed, trimmed};
use crate::report::words::layout::{grouped, signed};

/// Decimals of a length: of millimetres, and of inches.
pub(in crate::report) type Decimals = [usize; 2];

/// A diameter or a play that is measured with a micrometer.
pub(in crate::report) const FINE: Decimals = [3, 4];
/// A pipe that is measured with a rule.
pub(in crate::report) const COARSE: Decimals = [1, 3];
/// A piston's travel on a dial gauge.
pub(in crate::report) const TRAVEL: Decimals = [2, 4];

/// Half-width within which a length is known so well that one decimal more says something, m.
const WELL_KNOWN_M: f64 = 29.5e-6;

/// The unit a dimension is shown in.
pub(in crate::report) fn unit(dimension: Dimension, units: Units) -> &'static str {
    dimension.display(units).0
}

/// A value in SI as a quantity in the unit that is shown, `fewer` decimals below what is usual.
fn quantity(si: f64, dimension: Dimension, units: Units, fewer: usize) -> Option<Quantity> {
    let (unit, decimals) = dimension.display(units);
    Quantity::computed(si, unit, decimals.saturating_sub(fewer))
}

/// A value in SI with its unit, `fewer` decimals below what is usual: "24.0 C".
pub(in crate::report) fn with_unit(si: f64, dimension: Dimension, units: Units, fewer: usize) -> String {
    quantity(si, dimension, units, fewer).map_or_else(String::new, |one| one.with_unit())
}

/// A value in SI as a number of the unit that is shown.
pub(in crate::report) fn number(si: f64, dimension: Dimension, units: Units) -> f64 {
    quantity(si, dimension, units, 0).map_or(si, |one| one.value())
}

/// A length in mm as a number of the unit that is shown.
fn length_number(mm: f64, units: Units) -> f64 {
    match units {
        Units::Metric => mm,
        Units::Imperial => number(mm * 1e-3, Dimension::Length, units),
    }
}

fn decimals(decimals: Decimals, units: Units) -> usize {
    let [metric, imperial] = decimals;
    match units {
        Units::Metric => metric,
        Units::Imperial => imperial,
    }
}

/// A length in mm without its unit: "26.350".
pub(in crate::report) fn length(mm: f64, units: Units, fine: Decimals) -> String {
    fixed(length_number(mm, units), decimals(fine, units))
}

/// The same with its sign: "+0.012".
pub(in crate::report) fn offset(mm: f64, units: Units, fine: Decimals) -> String {
    signed(length_number(mm, units), decimals(fine, units))
}

/// A length in mm without trailing zeros and without its unit: "26.35".
pub(in crate::report) fn short_length(mm: f64, units: Units, fine: Decimals) -> String {
    trimmed(length_number(mm, units), decimals(fine, units))
}

/// The same with its unit: "26.35 mm".
pub(in crate::report) fn short_length_with_unit(mm: f64, units: Units, fine: Decimals) -> String {
    format!("{} {}", short_length(mm, units, fine), unit(Dimension::Length, units))
}

/// A temperature in degrees Celsius as a number of the unit that is shown.
fn degrees_number(celsius: f64, units: Units) -> f64 {
    match units {
        Units::Metric => celsius,
        Units::Imperial => number(celsius + 273.15, Dimension::Temperature, units),
    }
}

/// A temperature to the degree: "24 C".
pub(in crate::report) fn whole_degrees(celsius: f64, units: Units) -> String {
    format!("{} {}", fixed(degrees_number(celsius, units), 0), unit(Dimension::Temperature, units))
}

/// A temperature to heat to: never less than was computed, so up to the next whole degree.
pub(in crate::report) fn degrees_up(celsius: f64, units: Units) -> String {
    // A hair above a whole degree is that degree: what adding up leaves is no heat.
    let degrees = degrees_number(celsius, units) - 1e-6;
    format!("{} {}", fixed(degrees.ceil(), 0), unit(Dimension::Temperature, units))
}

/// What goes with each degree Celsius, for each degree that is shown, and that degree's unit.
pub(in crate::report) fn for_each_degree(per_celsius: f64, units: Units) -> (f64, &'static str) {
    (per_celsius * Dimension::Temperature.display_size(units), unit(Dimension::Temperature, units))
}

/// A height above the sea in whole metres or feet: "1,655 m".
pub(in crate::report) fn height(metres: f64, units: Units) -> String {
    let unit = height_unit(units);
    let shown = Quantity::computed(metres, unit, 0).map_or(metres, |height| height.value());
    format!("{} {unit}", grouped(shown))
}

/// The unit of a height above the sea.
pub(in crate::report) fn height_unit(units: Units) -> &'static str {
    match units {
        Units::Metric => "m",
        Units::Imperial => "ft",
    }
}

/// A band of velocities in whole units: "15 to 30 m/s".
pub(in crate::report) fn velocity_band((from, to): (f64, f64), units: Units) -> String {
    let [from, to] = [from, to].map(|m_s| fixed(number(m_s, Dimension::Velocity, units), 0));
    format!("{from} to {to} {}", unit(Dimension::Velocity, units))
}

/// The unit a figure of a build is shown in, its size in SI, and the decimals of a value that is known to `expanded`, SI.
pub(in crate::report) fn of_figure(
    figure: FigureUnit,
    units: Units,
    expanded: f64,
) -> (&'static str, f64, usize) {
    let dimension = figure.dimension();
    let fine = match figure {
        FigureUnit::Length if expanded < WELL_KNOWN_M => decimals(FINE, units),
        FigureUnit::Length => decimals(FINE, units) - 1,
        FigureUnit::Volume => 2,
        FigureUnit::Mass => 0,
    };
    (unit(dimension, units), dimension.display_size(units), fine)
}

/// Units by the words that a form says them with.
pub(in crate::report) const UNITS_IN_WORDS: [(Units, &str); 2] =
    [(Units::Metric, "metric"), (Units::Imperial, "imperial")];

/// Units of a bare number at a question: of a length in words, of a temperature, and what is put behind a bare number of that
/// dimension so that the file has it right.
pub(in crate::report) struct AskedUnits {
    /// Lengths: "inches".
    pub(in crate::report) lengths: &'static str,
    /// Temperatures: "F".
    pub(in crate::report) temperatures: &'static str,
    units: Units,
}

impl AskedUnits {
    /// In a garage that works in these units.
    pub(in crate::report) fn of(units: Units) -> Self {
        let lengths = match units {
            Units::Metric => "mm",
            Units::Imperial => "inches",
        };
        Self { lengths, temperatures: unit(Dimension::Temperature, units), units }
    }

    /// The unit that a bare number has; none where the question says it.
    pub(in crate::report) fn of_a_number(&self, dimensions: &[Dimension]) -> Option<&'static str> {
        let both = [Dimension::Length, Dimension::Temperature];
        let dimension = both.into_iter().find(|dimension| dimensions.contains(dimension))?;
        Some(unit(dimension, self.units))
    }

    /// The unit that a bare number needs in the file, which takes millimetres and degrees Celsius without one.
    pub(in crate::report) fn to_write(&self, dimensions: &[Dimension]) -> Option<&'static str> {
        self.of_a_number(dimensions).filter(|_| self.units == Units::Imperial)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_shown_as_fine_as_they_are_measured() {
        assert_eq!(length(26.35, Units::Metric, FINE), "26.350");
        assert_eq!(length(25.4, Units::Imperial, FINE), "1.0000");
        assert_eq!(offset(0.0127, Units::Imperial, FINE), "+0.0005");
        assert_eq!(short_length_with_unit(254.0, Units::Imperial, COARSE), "10 in");
        assert_eq!(short_length_with_unit(-8.0, Units::Metric, COARSE), "-8 mm");
    }

    #[test]
    fn degrees_to_heat_to_are_never_fewer_than_computed() {
        assert_eq!(degrees_up(80.2, Units::Metric), "81 C");
        assert_eq!(degrees_up(100.0, Units::Imperial), "212 F");
        assert_eq!(degrees_up(100.1, Units::Imperial), "213 F");
        assert_eq!(whole_degrees(24.0, Units::Imperial), "75 F");
        assert_eq!(for_each_degree(18.0, Units::Imperial).1, "F");
        assert!((for_each_degree(18.0, Units::Imperial).0 - 10.0).abs() < 1e-9);
    }

    #[test]
    fn heights_and_velocities_change_with_the_units() {
        assert_eq!(height(1655.0, Units::Metric), "1,655 m");
        assert_eq!(height(1655.064, Units::Imperial), "5,430 ft");
        assert_eq!(velocity_band((15.24, 30.48), Units::Imperial), "50 to 100 ft/s");
    }

    #[test]
    fn a_figure_has_a_decimal_more_where_it_is_known_well() {
        assert_eq!(of_figure(FigureUnit::Length, Units::Metric, 5e-6), ("mm", 1e-3, 3));
        assert_eq!(of_figure(FigureUnit::Length, Units::Imperial, 1e-3), ("in", 0.0254, 3));
        assert_eq!(of_figure(FigureUnit::Mass, Units::Imperial, 0.0), ("g", 1e-3, 0));
    }

    #[test]
    fn a_bare_number_is_written_with_the_unit_it_was_meant_in() {
        let imperial = AskedUnits::of(Units::Imperial);
        assert_eq!(imperial.to_write(&[Dimension::Length]), Some("in"));
        assert_eq!(imperial.to_write(&[Dimension::Temperature]), Some("F"));
        assert_eq!(imperial.to_write(&[Dimension::Mass]), None);
        assert_eq!(AskedUnits::of(Units::Metric).to_write(&[Dimension::Length]), None);
    }
}
