//! What can be said of a bearing and its seats, and reading it.

use clap::{Args, ValueEnum};

use super::engine::{length, quantity, without_unit};
use crate::advice::fit::{
    Diameter, FitAsked, FitPart, Initial, SHAFT_SHARE, SHAFT_SLIP_M, SLEEVE_PASSES_ON, SLIP_M, SleeveAsked,
    running_c, usual_case_share,
};
use crate::engine::fits::bearing::ClearanceGroup;
use crate::engine::fits::zone::ToleranceZone;
use crate::engine::fits::{self, REFERENCE_C};
use crate::quantity::{Percent, Temperature, nearly_equal, trimmed};
use crate::report::Trouble;
use crate::report::building::fit::{part_name, way_out};

/// How tight a bearing sits, what clearance is left, how warm to fit it
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
#[command(
    after_help = "A seat is a zone (N7), a zone at a size (\"68 mm H7\"), or what was measured at 20 C (\"61.985 mm\").\n\
    Example: reedbook fit bearing 25 62 --case N7 --shaft k5 --group C3"
)]
pub(in crate::commands) struct BearingOptions {
    /// Bore of the bearing, as its name says ("25 mm")
    #[arg(value_name = "BORE")]
    bore: String,
    /// Outside of the bearing ("62 mm")
    #[arg(value_name = "OUTSIDE")]
    outside: String,
    /// The seat in the case
    #[arg(long, value_name = "SEAT", required_unless_present = "shaft")]
    case: Option<String>,
    /// What the case is made of
    #[arg(long, value_name = "MATERIAL", default_value = "aluminium")]
    case_material: Material,
    /// The steel shaft
    #[arg(long, value_name = "SEAT")]
    shaft: Option<String>,
    /// Bore of the bearing as measured; otherwise class Normal
    #[arg(long, value_name = "LENGTH")]
    bearing_bore: Option<String>,
    /// Outside of the bearing as measured; otherwise class Normal
    #[arg(long, value_name = "LENGTH")]
    bearing_outside: Option<String>,
    /// Clearance group marked on the bearing: C2, CN (no mark), C3 or C4
    #[arg(long, ignore_case = true, conflicts_with = "clearance", help_heading = "Clearance")]
    group: Option<Group>,
    /// Clearance of the bearing in its box as measured
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Clearance")]
    clearance: Option<String>,
    /// What the balls are made of
    #[arg(long, default_value = "steel", help_heading = "Clearance")]
    balls: Balls,
    /// Diameter of a ball, for ceramic balls; otherwise 0.3 of outside less bore
    #[arg(long, value_name = "LENGTH", help_heading = "Clearance")]
    ball: Option<String>,
    /// The share of the interference on the shaft that the clearance loses; otherwise 0.8
    #[arg(long, value_name = "SHARE", help_heading = "Clearance")]
    shaft_share: Option<String>,
    /// The same in the case; otherwise 0.6 in light alloy, 0.7 in iron
    #[arg(long, value_name = "SHARE", help_heading = "Clearance")]
    case_share: Option<String>,
    /// Outside of a sleeve between case and bearing, free on the bench: measured, or a zone at a size
    #[arg(long, value_name = "SEAT", requires_all = ["sleeve_bore", "case"], help_heading = "Sleeve")]
    sleeve_outside: Option<String>,
    /// Bore of the sleeve, free on the bench; with --bored-in-place as it is in the case
    #[arg(long, value_name = "SEAT", requires = "sleeve_outside", help_heading = "Sleeve")]
    sleeve_bore: Option<String>,
    /// The sleeve was bored, or measured, while it sat in the case
    #[arg(long, requires = "sleeve_outside", help_heading = "Sleeve")]
    bored_in_place: bool,
    /// What the sleeve is made of
    #[arg(long, value_name = "MATERIAL", default_value = "steel", help_heading = "Sleeve")]
    sleeve_material: Material,
    /// The share of the case's press that closes the sleeve's bore; otherwise 0.8
    #[arg(long, value_name = "SHARE", requires = "sleeve_outside", help_heading = "Sleeve")]
    sleeve_passes_on: Option<String>,
    /// The case as it runs; otherwise 10 C below the shaft where only --shaft-at is given, and else 90 C
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, help_heading = "Heat")]
    case_at: Option<String>,
    /// The shaft as it runs; otherwise 10 C above the case. Given alone it moves the case too: 10 C below it
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, help_heading = "Heat")]
    shaft_at: Option<String>,
    /// The bearing, or the sleeve, as it goes into the case, out of a freezer; otherwise 20 C
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, help_heading = "Heat")]
    bearing_cooled: Option<String>,
    /// The shaft as it goes into the bearing; otherwise 20 C
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, help_heading = "Heat")]
    shaft_cooled: Option<String>,
    /// Room while a part drops in; otherwise 0.03 mm into the case and 0.01 mm on the shaft
    #[arg(long, value_name = "LENGTH", help_heading = "Heat")]
    slip: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Material {
    Aluminium,
    Magnesium,
    CastIron,
    Steel,
}

impl From<Material> for fits::Material {
    fn from(material: Material) -> Self {
        match material {
            Material::Aluminium => Self::Aluminium,
            Material::Magnesium => Self::Magnesium,
            Material::CastIron => Self::CastIron,
            Material::Steel => Self::Steel,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[value(rename_all = "UPPER")]
enum Group {
    C2,
    Cn,
    C3,
    C4,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Balls {
    Steel,
    Ceramic,
}

impl From<Group> for ClearanceGroup {
    fn from(group: Group) -> Self {
        match group {
            Group::C2 => Self::C2,
            Group::Cn => Self::CN,
            Group::C3 => Self::C3,
            Group::C4 => Self::C4,
        }
    }
}

impl BearingOptions {
    /// What is asked, in SI and C.
    pub(in crate::commands) fn asked(&self, imperial: bool) -> Result<FitAsked, Trouble> {
        let given = |name: &str, text: &Option<String>| length(name, text.as_deref(), imperial);
        let seat = |part: FitPart, text: &Option<String>, nominal: Option<f64>| {
            text.as_deref().map(|text| diameter(part, text, nominal, imperial)).transpose()
        };
        let bore_m = given("bore", &Some(self.bore.clone()))?.unwrap_or_default();
        let outside_m = given("outside", &Some(self.outside.clone()))?.unwrap_or_default();
        let sleeve_outside = seat(FitPart::SleeveOutside, &self.sleeve_outside, None)?;
        let sleeve_bore = seat(FitPart::SleeveBore, &self.sleeve_bore, Some(outside_m))?;
        let passed_on = share("--sleeve-passes-on", self.sleeve_passes_on.as_deref())?;
        // Around a sleeve a zone alone is one at the size its outside was made to.
        let case_nominal = match sleeve_outside {
            None => Some(outside_m),
            Some(Diameter::Zone(_, size)) => Some(size),
            Some(Diameter::Measured(_)) => None,
        };
        let (case_c, shaft_c) = running_c(
            running("--case-at", self.case_at.as_deref(), imperial)?,
            running("--shaft-at", self.shaft_at.as_deref(), imperial)?,
        );
        let slip = slip(given("--slip", &self.slip)?)?;
        let case_material = self.case_material.into();
        let clearance = given("--clearance", &self.clearance)?.map(Initial::Measured);
        Ok(FitAsked {
            bore_m,
            outside_m,
            measured_bore_m: given("--bearing-bore", &self.bearing_bore)?,
            measured_outside_m: given("--bearing-outside", &self.bearing_outside)?,
            case: seat(FitPart::Case, &self.case, case_nominal)?,
            case_material,
            shaft: seat(FitPart::Shaft, &self.shaft, Some(bore_m))?,
            sleeve: sleeve_outside.zip(sleeve_bore).map(|(outside, bore)| SleeveAsked {
                outside,
                bore,
                material: self.sleeve_material.into(),
                passed_on: passed_on.unwrap_or(SLEEVE_PASSES_ON),
                bored_in_place: self.bored_in_place,
            }),
            clearance: clearance.or(self.group.map(|group| Initial::Group(group.into()))),
            ceramic_balls: self.balls == Balls::Ceramic,
            ball_m: given("--ball", &self.ball)?,
            case_c,
            shaft_c,
            bearing_cooled_c: cooled("--bearing-cooled", self.bearing_cooled.as_deref(), imperial)?,
            shaft_cooled_c: cooled("--shaft-cooled", self.shaft_cooled.as_deref(), imperial)?,
            slip_m: slip.unwrap_or(SLIP_M),
            shaft_slip_m: slip.unwrap_or(SHAFT_SLIP_M),
            shaft_share: share("--shaft-share", self.shaft_share.as_deref())?.unwrap_or(SHAFT_SHARE),
            case_share: share("--case-share", self.case_share.as_deref())?
                .unwrap_or_else(|| usual_case_share(case_material)),
        })
    }

    /// Options that were left out, so that what stands in for them is said to be assumed.
    pub(in crate::commands) fn left_out(&self) -> Vec<&'static str> {
        let options = [
            ("--case-at", &self.case_at),
            ("--shaft-at", &self.shaft_at),
            ("--slip", &self.slip),
            ("--shaft-share", &self.shaft_share),
            ("--case-share", &self.case_share),
            ("--sleeve-passes-on", &self.sleeve_passes_on),
            ("--ball", &self.ball),
        ];
        options.into_iter().filter(|(_, typed)| typed.is_none()).map(|(name, _)| name).collect()
    }
}

/// A seat that was typed: "N7", "68 mm H7", "62H7" or "61.985 mm".
fn diameter(part: FitPart, text: &str, nominal: Option<f64>, imperial: bool) -> Result<Diameter, Trouble> {
    let (name, text) = (part_name(part), text.trim());
    let before_grade = text.trim_end_matches(|letter: char| letter.is_ascii_digit());
    let size = before_grade.trim_end_matches(|letter: char| letter.is_ascii_alphabetic());
    let has_zone = size.len() < before_grade.len() && before_grade.len() < text.len();
    if !has_zone && !text.starts_with(|letter: char| letter.is_alphabetic()) {
        return Ok(Diameter::Measured(length(name, Some(text), imperial)?.unwrap_or_default()));
    }
    let zone = if has_zone { &text[size.len()..] } else { text };
    let zone = ToleranceZone::parse(zone)
        .map_err(|error| Trouble::request(Some(name), error.to_string(), way_out(part)))?;
    let typed = if has_zone { size.trim() } else { "" };
    let size = if typed.is_empty() { nominal } else { length(name, Some(typed), imperial)? };
    let size = size.ok_or_else(|| {
        let message = format!("{name} {zone} needs its size: a sleeve is not as large as the bearing.");
        Trouble::request(
            Some(name),
            message,
            format!("Write the size before it, like {name} \"68 mm {zone}\"."),
        )
    })?;
    Ok(Diameter::Zone(zone, size))
}

/// A share that was typed, "0.8" or "80 %".
fn share(name: &str, text: Option<&str>) -> Result<Option<f64>, Trouble> {
    let Some(percent) = quantity::<Percent>(name, text)? else { return Ok(None) };
    let share = percent.quantity().clone().or_fraction();
    // A bare 1 is all of it.
    if share.is_bare() && nearly_equal(share.value(), 1.0) {
        return Ok(Some(1.0));
    }
    // A bare 1.5 would be taken for percent; a share of more than all is a slip of the pen.
    if (0.0..=1.0).contains(&share.si()) && !(share.is_bare() && share.si() > 0.0) {
        return Ok(Some(share.si()));
    }
    let message = format!("{name} is {}; allowed is 0 to 1.", percent.quantity().text());
    Err(Trouble::request(Some(name), message, "Give a share, like 0.8 or \"80 %\"."))
}

fn slip(typed: Option<f64>) -> Result<Option<f64>, Trouble> {
    let Some(slip_m) = typed.filter(|slip_m| !(0.0..=0.001).contains(slip_m)) else { return Ok(typed) };
    let message = format!("--slip is {} mm; allowed is 0 to 1 mm.", trimmed(slip_m * 1e3, 4));
    Err(Trouble::request(Some("--slip"), message, "A few hundredths of a millimetre are enough."))
}

fn running(name: &str, text: Option<&str>, imperial: bool) -> Result<Option<f64>, Trouble> {
    temperature(name, text, imperial, -60.0, 300.0, "Give what the part has when it runs, like 90C.")
}

fn cooled(name: &str, text: Option<&str>, imperial: bool) -> Result<f64, Trouble> {
    let found = temperature(name, text, imperial, -200.0, REFERENCE_C, "A deep freezer has -18 C.")?;
    Ok(found.unwrap_or(REFERENCE_C))
}

/// A temperature that was typed, C; in an imperial garage it must carry its unit.
fn temperature(
    name: &str,
    text: Option<&str>,
    imperial: bool,
    low: f64,
    high: f64,
    help: &str,
) -> Result<Option<f64>, Trouble> {
    let Some(found) = quantity::<Temperature>(name, text)? else { return Ok(None) };
    let typed = found.quantity().text();
    if imperial && found.quantity().is_bare() {
        return Err(without_unit(name, typed, &format!("Write \"{typed} C\" or \"{typed} F\".")));
    }
    let celsius = found.si() - 273.15;
    if (low - 1e-9..=high + 1e-9).contains(&celsius) {
        return Ok(Some(celsius));
    }
    Err(Trouble::request(Some(name), format!("{name} is {typed}; allowed is {low} to {high} C."), help))
}
