//! Bikes and boxes of jets for the checks of the rejet. All invented.

use reedbook::advice::{JetAdvice, Rejet, RejetRequest, rejet};
use reedbook::air::Air;
use reedbook::notebook::{Circuit, Fuel, JetBox, NeedleBox, Setup, Shares};
use reedbook::quantity::Number;

/// Everything known: a carburetor with a needle from configs/needles.toml.
pub(crate) const NEEDLE_BIKE: &str = r#"
[jetting]
carburetor_bore = 38
main = 172
main_numbered_by = "bore"
main_series = "main-bore"
pilot = 52.5
pilot_numbered_by = "bore"
air_screw = 1.5
needle = "n2"
clip = 3
needle_jet = 2.68
seat_to_needle_jet = 26
"#;

/// The same carburetor, its needle never measured.
pub(crate) const SIMPLE_BIKE: &str = r#"
[jetting]
main = 172
main_numbered_by = "bore"
pilot = 52.5
pilot_numbered_by = "bore"
fuel_screw = 1.5
"#;

/// Jets numbered by flow.
pub(crate) const FLOW_BIKE: &str = r#"
[jetting]
carburetor_bore = 38
main = 300
main_series = "main-flow"
main_numbered_by = "flow"
pilot = 50
pilot_numbered_by = "flow"
air_screw = 2
needle = "n3"
clip = 2
needle_jet = 2.68
seat_to_needle_jet = 26
"#;

/// A power jet beside the main jet.
pub(crate) const POWER_BIKE: &str = r#"
[jetting]
carburetor_bore = 38
main = 160
main_numbered_by = "bore"
pilot = 50
pilot_numbered_by = "bore"
air_screw = 1.5
needle = "n2"
clip = 3
needle_jet = 2.68
seat_to_needle_jet = 26
power_jet = 50
power_jet_numbered_by = "bore"
power_jet_from = 6000
power_jet_until = 10500
"#;

/// All four.
pub(crate) const CARBURETORS: [&str; 4] = [NEEDLE_BIKE, SIMPLE_BIKE, FLOW_BIKE, POWER_BIKE];

/// A garage's own tables.
#[derive(Clone)]
pub(crate) struct Tables {
    pub(crate) jets: JetBox,
    pub(crate) needles: NeedleBox,
    pub(crate) shares: Shares,
}

impl Tables {
    /// The ones that come with the program.
    pub(crate) fn as_shipped() -> Self {
        Self {
            jets: toml::from_str(include_str!("../../configs/jets.toml")).unwrap(),
            needles: toml::from_str(include_str!("../../configs/needles.toml")).unwrap(),
            shares: toml::from_str(include_str!("../../configs/shares.toml")).unwrap(),
        }
    }

    pub(crate) fn request<'a>(&'a self, setup: &'a Setup, baseline: Air, air: Air) -> RejetRequest<'a> {
        RejetRequest::new(setup, baseline, air, &self.jets, &self.needles, &self.shares)
    }

    /// The answer for the same air and a factor of `factor`, by way of lambda.
    pub(crate) fn by_factor(&self, setup: &Setup, factor: f64) -> Rejet {
        let mut request = self.request(setup, mild(), mild());
        request.lambda_ratio = 1.0 / factor;
        let answer = rejet(&request).unwrap();
        assert!((answer.factor.total - factor).abs() < 1e-12);
        answer
    }
}

pub(crate) fn setup(text: &str) -> Setup {
    toml::from_str(text).unwrap()
}

/// The text of a setup with one line put in place of the one that sets the same field, or added to its last section.
pub(crate) fn with(text: &str, line: &str) -> String {
    let field = line.split('=').next().unwrap().trim();
    let sets = |other: &&str| other.split('=').next().unwrap().trim() == field;
    let kept: Vec<_> = text.lines().filter(|other| !sets(other)).collect();
    format!("{}\n{line}\n", kept.join("\n"))
}

/// The text of a setup without a field.
pub(crate) fn without(text: &str, field: &str) -> String {
    let kept: Vec<_> = text.lines().filter(|line| line.split('=').next().unwrap().trim() != field).collect();
    assert!(kept.len() < text.lines().count(), "{field} is not there");
    kept.join("\n")
}

pub(crate) fn fuel(text: &str) -> Fuel {
    toml::from_str(text).unwrap()
}

pub(crate) fn number(value: f64) -> Number {
    Number::parse(&value.to_string()).unwrap()
}

/// 20 C, 1013.25 hPa, 50 %.
pub(crate) fn mild() -> Air {
    Air::from_relative_humidity(20.0, 101_325.0, 0.5).unwrap()
}

pub(crate) fn jet(answer: &Rejet, circuit: Circuit) -> &JetAdvice {
    answer.jets.iter().find(|jet| jet.circuit == circuit).unwrap()
}

pub(crate) fn main_jet(answer: &Rejet) -> &JetAdvice {
    jet(answer, Circuit::Main)
}

/// Whether two values agree to rounding.
pub(crate) fn agree(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// Whether any sentence has all these words in it.
pub(crate) fn says(sentences: &[String], words: &[&str]) -> bool {
    sentences.iter().any(|sentence| words.iter().all(|word| sentence.contains(word)))
}
