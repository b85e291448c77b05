//! Ways of measuring that must come to the same figures: whole sizes, zeroed on the piston, zeroed on a ring, in inches.

use reedbook::advice::building::Judgement;
use reedbook::report::worded;

use super::{UM, figure, judged, names, part};

/// The gauges without what the bore gauge was zeroed on.
const GAUGES: &str = "[gauges.outside]\nresolution = \"0.001 mm\"\nuncertainty = \"0.002 mm\"\n\
    [gauges.bore]\nresolution = \"0.002 mm\"\nuncertainty = \"0.0015 mm\"\n";

const PISTON: &str = "[piston]\ndiameter = \"53.940 mm\"\nexpansion = 23\n";

/// Two depths of two axes each, given from 53.940 mm.
fn bore(from_mm: f64) -> String {
    let size = |over: f64| format!("{:.4} mm", from_mm + over);
    format!(
        "[bore.top]\ndepth = \"12 mm\"\nalong_pin = \"{}\"\nacross_pin = \"{}\"\n\
         [bore.bottom]\ndepth = \"60 mm\"\nalong_pin = \"{}\"\nacross_pin = \"{}\"\n",
        size(0.062),
        size(0.066),
        size(0.058),
        size(0.061)
    )
}

/// The same cylinder and piston, by whole sizes, zeroed on the piston, and zeroed on a ring of 54.000 mm.
fn three_ways(start: &str) -> [Judgement; 3] {
    let whole = format!("{start}{GAUGES}{}{PISTON}", bore(53.940));
    let piston = format!("{start}{GAUGES}set_on = \"piston\"\n{}{PISTON}", bore(0.0));
    let ring = format!("{start}{GAUGES}set_on = \"ring\"\nset_to = \"54.000 mm\"\n{}{PISTON}", bore(-0.060));
    [judged(&whole), judged(&piston), judged(&ring)]
}

/// What the scale grows over a difference of a few hundredths is left out: a hundredth of a micrometre.
#[test]
fn zeroed_on_the_piston_on_a_ring_or_on_nothing_it_is_one_cylinder() {
    for start in ["", "temperature = \"20 C\"\n", "temperature = \"31 C\"\n", "temperature = \"8 C\"\n"] {
        let [whole, piston, ring] = three_ways(start);
        assert_eq!(names(&whole).len(), 6);
        for other in [piston, ring] {
            assert_eq!(names(&whole), names(&other));
            for (a, b) in whole.figures.iter().zip(&other.figures) {
                let off = (a.value.value() - b.value.value()) / UM;
                assert!(off.abs() < 0.02, "{start}{}: {off} um", a.kind.name);
                assert_eq!(a.at, b.at);
            }
        }
    }
}

/// A ring without `set_on` is a ring as well.
#[test]
fn a_size_it_was_set_to_is_that_of_a_ring() {
    let said = judged(&format!("{GAUGES}set_on = \"ring\"\nset_to = \"54.000 mm\"\n{}", bore(-0.060)));
    let not = judged(&format!("{GAUGES}set_to = \"54.000 mm\"\n{}", bore(-0.060)));
    for (a, b) in said.figures.iter().zip(&not.figures) {
        assert_eq!(a.value, b.value);
    }
    assert!((figure(&said, "least_bore").value.value() - 0.053_998).abs() < 1e-9);
}

#[test]
fn zeroed_on_the_piston_its_micrometer_is_out_of_the_clearance() {
    let [whole, piston, ring] = three_ways("temperature = \"20 C\"\n");
    let sources = ["setting of the outside gauge", "hand at piston.diameter", "reading of piston.diameter"];
    for source in sources {
        assert!(part(figure(&piston, "piston_clearance"), source) < 1e-12, "{source}");
        for other in [&whole, &ring] {
            assert!(part(figure(other, "piston_clearance"), source) > 0.28 * UM, "{source}");
        }
        // The bore itself was had from the piston and is no better known than that.
        assert!(part(figure(&piston, "least_bore"), source) > 0.28 * UM, "{source}");
        assert!(part(figure(&whole, "least_bore"), source) < 1e-12, "{source}");
    }
    let doubt = |judgement: &Judgement| figure(judgement, "piston_clearance").value.uncertainty() / UM;
    // sqrt(0.3333 + 2.25), and with sqrt(0.0833 + 4) beside it.
    assert!((doubt(&piston) - 1.607_28).abs() < 1e-3, "{}", doubt(&piston));
    for other in [&whole, &ring] {
        assert!((doubt(other) - 2.581_99).abs() < 1e-3, "{}", doubt(other));
    }
    // Zeroed on a steel ring of 20 C by definition, the gauge's own size is out of it at 20 C; its warmth is not.
    assert!(part(figure(&ring, "least_bore"), "temperature of the parts") > 0.3 * UM);
}

/// In an iron liner what the two metals grow apart stays.
#[test]
fn at_another_temperature_in_iron_some_of_the_micrometer_comes_back() {
    let [_, piston, _] = three_ways("temperature = \"32 C\"\ncylinder_material = \"cast-iron\"\n");
    let setting = part(figure(&piston, "piston_clearance"), "setting of the outside gauge");
    // Of 2 um half is the hand and sqrt(3/4) the setting; that times 12 K * 12.5e-6/K.
    assert!((setting - 2.0 * 0.75_f64.sqrt() * UM * 12.0 * 12.5e-6).abs() < 1e-12, "{setting}");
}

/// Zeroed on a piston that was never measured: the clearance is what the dial shows, the bore is not known.
#[test]
fn a_piston_of_no_known_size_still_shows_its_clearance() {
    let found = judged(&format!(
        "temperature = \"20 C\"\n[gauges.bore]\nresolution = \"0.002 mm\"\nset_on = \"piston\"\n{}",
        bore(0.0)
    ));
    assert_eq!(names(&found), ["piston_clearance"]);
    let room = figure(&found, "piston_clearance");
    assert!((room.value.value() / UM - 58.0).abs() < 1e-9);
    assert!((room.value.uncertainty() / UM - 2.0 / 12.0_f64.sqrt()).abs() < 1e-9);
    assert_eq!(room.at.as_deref(), Some("bottom, along the pin"));
    assert!(found.bores.is_empty());
    assert_eq!(found.remarks.len(), 1, "{:?}", found.remarks);
    assert!(worded(&found.remarks[0]).contains("Give piston.diameter"), "{:?}", found.remarks);
}

/// The same lengths, exact in both units, with the steps of the gauges said in both.
#[test]
fn inches_give_the_same_figures() {
    let text = |temperature: &str, length: &dyn Fn(f64) -> String, volume: &str, mass: &str| {
        let fields = [
            ("gauges.bore.resolution", 0.0001),
            ("gauges.bore.uncertainty", 0.000_05),
            ("gauges.outside.resolution", 0.0001),
            ("gauges.feeler.uncertainty", 0.0005),
            ("bore.top.depth", 0.5),
            ("bore.top.along_pin", 2.1260),
            ("bore.top.across_pin", 2.1262),
            ("bore.low.depth", 2.5),
            ("bore.low.along_pin", 2.1259),
            ("piston.diameter", 2.1236),
            ("piston.pin_bore", 0.5907),
            ("pin.diameter", 0.5905),
            ("ring.gaps.top.depth", 0.5),
            ("ring.gaps.top.gap", 0.0120),
            ("ring.side_clearance", 0.0016),
            ("squish.front", 0.0300),
            ("squish.rear", 0.0280),
            ("crank.runout_left", 0.0005),
            ("deck.height", -0.0040),
            ("reed.gap", 0.0020),
            ("seats.left.case_bore", 2.0467),
            ("seats.left.bearing_outside", 2.0472),
        ];
        let lines = fields.map(|(field, inches)| format!("{field} = \"{}\"\n", length(inches)));
        format!(
            "temperature = \"{temperature}\"\nchamber.volume = \"{volume}\"\ngauges.burette.resolution = \"0.1 cc\"\n\
             reed.tension = \"{mass}\"\ngauges.balance.resolution = \"1 g\"\ngauges.feeler.resolution = \"0.001 in\"\n\
             gauges.solder.resolution = \"0.001 in\"\ngauges.indicator.resolution = \"0.0001 in\"\n\
             gauges.inside.resolution = \"0.0001 in\"\n{}",
            lines.concat()
        )
    };
    let inches = text("77 F", &|inches| format!("{inches:.5} in"), "0.5 cu in", "2 oz");
    // A gauge has one scale, so that of the leaves, solder, dial and inside gauge is in millimetres here as well.
    let metric = text("25 C", &|inches| format!("{:.6} mm", 25.4 * inches), "8.193532 cc", "56.69904625 g")
        .replace("\"0.001 in\"", "\"0.0254 mm\"")
        .replace("\"0.0001 in\"", "\"0.00254 mm\"");
    let (inches, metric) = (judged(&inches), judged(&metric));
    assert_eq!(names(&inches), names(&metric));
    assert!(names(&inches).len() > 16);
    for (a, b) in inches.figures.iter().zip(&metric.figures) {
        let pairs = [(a.value.value(), b.value.value()), (a.value.uncertainty(), b.value.uncertainty())];
        for (a_si, b_si) in pairs {
            assert!((a_si - b_si).abs() <= 1e-9 * a_si.abs() + 1e-14, "{}: {a_si} {b_si}", a.kind.name);
        }
    }
}

/// Not said, 20 C is taken, give or take 5 K, and that is said.
#[test]
fn a_temperature_that_is_not_said_widens_the_doubt() {
    let [without, ..] = three_ways("");
    let [with, ..] = three_ways("temperature = \"20 C\"\n");
    let assumed = |judgement: &Judgement| {
        judgement.remarks.iter().any(|said| worded(said).contains("20 C is assumed, give or take 5 K"))
    };
    assert!(assumed(&without) && !assumed(&with), "{:?}", without.remarks);
    for (a, b) in without.figures.iter().zip(&with.figures) {
        assert!((a.value.value() - b.value.value()).abs() < 1e-15, "{}", a.kind.name);
    }
    // 53.998e3 * 11.5e-6 * 5/sqrt(3) = 1.7926 um beside 0.5774 and 1.5.
    let doubt = |judgement: &Judgement| figure(judgement, "least_bore").value.uncertainty() / UM;
    assert!((doubt(&without) - 2.407_65).abs() < 1e-4, "{}", doubt(&without));
    assert!((doubt(&with) - 1.646_77).abs() < 1e-4, "{}", doubt(&with));
    // Of one metal the clearance knows nothing of it, in iron it does.
    let room = |start: &str| {
        let [whole, ..] = three_ways(start);
        figure(&whole, "piston_clearance").value.uncertainty() / UM
    };
    assert!((room("") - room("temperature = \"20 C\"\n")).abs() < 1e-3);
    let iron = "cylinder_material = \"cast-iron\"\n";
    // 53.94e3 * 12.5e-6 * 2.8868 = 1.9464 um beside 2.58199.
    assert!((room(iron) - 2.581_99_f64.hypot(1.946_4)).abs() < 2e-3, "{}", room(iron));
}

/// Where heat moves nothing that was measured, nobody is asked for it.
#[test]
fn a_temperature_is_not_asked_for_where_it_matters_not() {
    let found = judged("[squish]\nfront = \"0.78 mm\"\n[crank]\nrunout_left = \"0.01 mm\"\n");
    assert!(found.remarks.is_empty(), "{:?}", found.remarks);
}

/// Cases and a cylinder grow away from the steel in them, so there it matters.
#[test]
fn a_temperature_is_asked_for_where_unlike_metals_meet() {
    for text in [
        "[seats.left]\ncase_bore = \"51.985 mm\"\nbearing_outside = \"51.995 mm\"\n",
        "[ring.gaps.top]\ndepth = \"12 mm\"\ngap = \"0.30 mm\"\n",
    ] {
        let found = judged(text);
        assert!(
            found.remarks.iter().any(|said| worded(said).contains("20 C is assumed")),
            "{text}: {:?}",
            found.remarks
        );
    }
}
