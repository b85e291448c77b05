//! Other fuel and injection: what is known, what is taken as before, and what is written down.

use reedbook::advice::{Rejet, RejetError, rejet};
use reedbook::air::Air;
use reedbook::notebook::{Combination, SetupFiles};
use reedbook::report::worded;

use crate::bikes::{Tables, agree, fuel, mild, says, setup};

const FUEL: &str = "[jetting]\n[fuel]\nname = \"pump\"\ndensity = 745\nstoichiometric_ratio = 14.6\noil_ratio = 32\noil_density = 880\ntemperature = 20";

fn other_fuel(bike: &str, other: &str) -> Result<Rejet, RejetError> {
    let (setup, other) = (setup(bike), fuel(other));
    let tables = Tables::as_shipped();
    let mut request = tables.request(&setup, mild(), mild());
    request.fuel = Some(&other);
    rejet(&request)
}

#[test]
fn the_same_fuel_written_otherwise_changes_nothing() {
    let answer =
        other_fuel(FUEL, "density = \"0.745 g/cc\"\ntemperature = \"68 F\"\noil_ratio = 32.0").unwrap();
    assert!(agree(answer.factor.total, 1.0));
    assert_eq!(answer.assignments, []);
}

#[test]
fn figures_of_one_fuel_that_were_mended_make_nothing_leaner() {
    let factor = |other: &str| other_fuel(FUEL, other).unwrap().factor.total;
    // More air-fuel ratio, or denser: by another name that is another fuel, by its own a figure that was wrong.
    for figure in ["stoichiometric_ratio = 15.1", "density = 775"] {
        assert!(factor(&format!("name = \"other\"\n{figure}")) < 0.99, "{figure}");
        assert!(agree(factor(&format!("name = \"Pump\"\n{figure}")), 1.0), "{figure}");
    }
    assert!(factor("name = \"pump\"\nstoichiometric_ratio = 14.0") > 1.03);
    let answer = other_fuel(FUEL, "name = \"pump\"\ndensity = 775").unwrap();
    assert!(says(&answer.warnings, &["pump has other figures", "a name of its own"]));
}

#[test]
fn what_is_not_known_and_stays_drops_out() {
    let tables = Tables::as_shipped();
    let bare = setup("[jetting]\n[fuel]\ndensity = 620\ntemperature = -25");
    let factor = rejet(&tables.request(&bare, mild(), mild())).unwrap().factor;
    for part in [factor.total, factor.fuel_density, factor.oil, factor.fuel_air] {
        assert_eq!(part.to_bits(), 1.0_f64.to_bits());
    }
    // Denser fuel, oil not known: the density counts, the oil's part does not, and that is said.
    let answer = other_fuel("[jetting]\n[fuel]\ndensity = 745", "density = 760").unwrap();
    assert!(agree(answer.factor.total, f64::sqrt(745.0 / 760.0)));
    assert!(says(&answer.warnings, &["oil", "needs fuel.oil_ratio and fuel.oil_density"]));
    assert!(says(&answer.warnings, &["taken as before: fuel.stoichiometric_ratio."]));
}

#[test]
fn a_value_of_the_new_fuel_needs_its_counterpart() {
    for (other, field) in [
        ("density = 760", "fuel.density"),
        ("stoichiometric_ratio = 14.1", "fuel.stoichiometric_ratio"),
        ("oil_ratio = 20", "fuel.oil_ratio"),
        ("oil_density = 900", "fuel.oil_density"),
        ("temperature = 30", "fuel.temperature"),
    ] {
        let error = other_fuel("[jetting]", other).unwrap_err();
        assert_eq!(error.field(), Some(field));
        assert!(error.to_string().contains(field) && worded(&error.help()).contains(field), "{error}");
    }
    // Known on both sides, but useless without a third value.
    for (bike, other, field) in [
        ("temperature = 20", "temperature = 30", "fuel.density"),
        ("oil_ratio = 32\noil_density = 880", "oil_ratio = 20", "fuel.density"),
        ("oil_density = 880\ndensity = 745", "oil_density = 900", "fuel.oil_ratio"),
    ] {
        let error = other_fuel(&format!("[jetting]\n[fuel]\n{bike}"), other).unwrap_err();
        assert_eq!(error.field(), Some(field), "{other}");
    }
    // What oil weighs is nearly known: 870 kg/m3 where nothing is written down, and so it is told.
    let bike = "[jetting]\n[fuel]\noil_ratio = 32\ndensity = 745";
    let more_oil = other_fuel(bike, "oil_ratio = 20").unwrap();
    let weighed = other_fuel(&format!("{bike}\noil_density = 870"), "oil_ratio = 20").unwrap();
    assert!((more_oil.factor.total - weighed.factor.total).abs() < 1e-12 && more_oil.factor.total > 1.01);
    assert!(more_oil.warnings.iter().any(|warning| warning.contains("870 kg/m3")), "{:?}", more_oil.warnings);
    let error = other_fuel(FUEL, "temperature = 65").unwrap();
    assert!(error.factor.total > 1.0);
    let error = other_fuel(FUEL, "density = 610").unwrap_err();
    assert_eq!(error.field(), Some("fuel.density"));
}

#[test]
fn what_no_setup_may_have_is_refused_in_the_words_of_reading_one() {
    for (line, field) in [
        ("density = 0.735", "fuel.density"),
        ("oil_ratio = 2", "fuel.oil_ratio"),
        ("stoichiometric_ratio = 147", "fuel.stoichiometric_ratio"),
        ("oil_density = \"0.5 g/cc\"", "fuel.oil_density"),
        ("temperature = 99", "fuel.temperature"),
    ] {
        // Whether or not the bike's own fuel is known.
        for bike in [FUEL, "[jetting]"] {
            let error = other_fuel(bike, line).unwrap_err();
            let files = SetupFiles {
                bike: "moth".into(),
                setup: Some(format!("[fuel]\n{line}\n").into_bytes()),
                ..SetupFiles::default()
            };
            let finding = Combination::read(&files, false).findings.swap_remove(0);
            assert_eq!(error.field(), Some(field));
            assert_eq!((error.to_string(), error.help()), (finding.message, finding.help));
        }
    }
    let error = other_fuel(FUEL, "oil_ratio = 2").unwrap_err();
    assert_eq!(
        (error.to_string().as_str(), worded(&error.help()).as_str()),
        ("fuel.oil_ratio cannot be 2.", "Allowed: 8 to 200.")
    );
}

#[test]
fn a_fuel_of_another_name_says_what_was_taken_as_before() {
    let answer = other_fuel(FUEL, "name = \"race\"").unwrap();
    assert!(says(&answer.warnings, &["fuel.stoichiometric_ratio", "fuel.density", "taken as before"]));
    assert_eq!(answer.assignments, [("fuel.name".to_owned(), "race".to_owned())]);
    let warm = other_fuel(FUEL, "stoichiometric_ratio = 9.8\ntemperature = 35").unwrap();
    assert!(says(&warm.warnings, &["not for alcohol"]));
    assert!(!says(&other_fuel(FUEL, "temperature = 35").unwrap().warnings, &["alcohol"]));
}

#[test]
fn pounds_to_the_gallon_say_whose_gallon() {
    // 0.45359237 kg (exact, 1959) in 231 cubic inches, and in 4.54609 l (exact): NIST SP 811, 2008, B.8, from memory.
    let density = |text: &str| text.parse::<reedbook::quantity::Density>();
    let by_hand = |litres: f64| 6.2 * 0.453_592_37 / litres * 1000.0;
    assert!(agree(density("6.2 lb/US gal").unwrap().si(), by_hand(231.0 * 2.54_f64.powi(3) / 1000.0)));
    assert!(agree(density("6.2 lb/imp gal").unwrap().si(), by_hand(4.546_09)));
    let error = density("6.2 lb/gal").unwrap_err();
    assert_eq!(error.to_string(), "\"6.2 lb/gal\" could be 743 kg/m3 (lb/US gal) or 619 kg/m3 (lb/imp gal).");
    assert_eq!(error.help(), "Write which: lb/US gal or lb/imp gal.");
}

#[test]
fn the_new_fuel_is_written_down_as_typed() {
    let typed = "name = \"race\"\ndensity = \"0.760 g/cc\"\nstoichiometric_ratio = 14.3\noil_ratio = 20\ntemperature = \"95 F\"\noil = \"green\"";
    let answer = other_fuel(FUEL, typed).unwrap();
    let expected = [
        ("fuel.name", "race"),
        ("fuel.density", "0.760 g/cc"),
        ("fuel.stoichiometric_ratio", "14.3"),
        ("fuel.oil_ratio", "20"),
        ("fuel.oil", "green"),
        ("fuel.temperature", "95 F"),
    ];
    assert_eq!(answer.assignments, expected.map(|(field, value)| (field.to_owned(), value.to_owned())));
}

#[test]
fn the_trim_goes_on_top_of_the_trim_that_is_there() {
    let tables = Tables::as_shipped();
    let wet = Air::from_relative_humidity(30.0, 100_000.0, 0.8).unwrap();
    let injected = |lines: &str| {
        let setup = setup(&format!("[injection]\ncompensation = \"none\"\n{lines}"));
        rejet(&tables.request(&setup, mild(), wet)).unwrap()
    };
    // 1.05 x 0.932599 = 0.979229: down 2.077 %, written up to the next tenth.
    let answer = injected("trim = 5");
    let trim = answer.injection.unwrap();
    assert!((trim.from_percent - 5.0).abs() < 1e-9 && (trim.to_percent + 2.0).abs() < 1e-9);
    assert_eq!(answer.assignments, [("injection.trim".to_owned(), "-2.0 %".to_owned())]);
    assert!(trim.words.contains("temperature, pressure and humidity"));
    // -2.077 shows as -2.1 in tenths and -2.0 is set: that is said. -2.0 from nothing is not.
    assert!(
        trim.words.ends_with("It is rounded up to the next tenth, so as not to be lean."),
        "{}",
        trim.words
    );
    assert!(answer.jets.is_empty() && answer.screw.is_none());
    let answer = injected("");
    assert!(says(&answer.warnings, &["injection.trim", "taken as 0 %"]));
    // More than a trim can do is said and not written down.
    let setup = setup("[injection]\ncompensation = \"none\"\ntrim = 90\n[fuel]\nstoichiometric_ratio = 14.7");
    let mut request = tables.request(&setup, mild(), mild());
    let methanol = fuel("stoichiometric_ratio = 6.47");
    request.fuel = Some(&methanol);
    let answer = rejet(&request).unwrap();
    assert!(says(&answer.warnings, &["too much for a trim"]));
    assert_eq!(answer.assignments, [("fuel.stoichiometric_ratio".to_owned(), "6.47".to_owned())]);
}

#[test]
fn the_doubt_of_a_box_that_corrects_itself_is_not_known() {
    let tables = Tables::as_shipped();
    let doubt = reedbook::air::Uncertainty {
        density: 0.002,
        dry_density: 0.0021,
        correlation: 0.9,
        contributions: Vec::new(),
        dry_contributions: Vec::new(),
    };
    let of = |compensation: &str| {
        let setup = setup(&format!("[injection]\ncompensation = \"{compensation}\""));
        let mut request = tables.request(&setup, mild(), mild());
        (request.baseline_doubt, request.doubt) = (Some(&doubt), Some(&doubt));
        rejet(&request).unwrap().factor_uncertainty
    };
    assert!(agree(of("none").unwrap(), f64::sqrt(2.0) * 0.0021 / mild().dry_density()));
    assert_eq!(of("both"), None);
}
