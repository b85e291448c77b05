//! A gauge's doubt is partly the hand's, new with each reading, and partly common to all of them; and the alloy of a piston is
//! known, or in the doubt.

use super::{UM, figure, judged, part};

/// Bore with two depths and two axes, 8 um of taper and 4 um out of round, by a gauge of 1 um whose doubt is stated like this.
fn bore(gauge: &str) -> String {
    format!(
        "temperature = \"20 C\"\n[gauges.bore]\nresolution = \"0.001 mm\"\n{gauge}\
         [bore.top]\ndepth = \"12 mm\"\nalong_pin = \"54.006 mm\"\nacross_pin = \"54.010 mm\"\n\
         [bore.bottom]\ndepth = \"60 mm\"\nalong_pin = \"54.000 mm\"\nacross_pin = \"54.002 mm\"\n"
    )
}

#[test]
fn taper_and_out_of_round_carry_the_hand_twice() {
    let step: f64 = 1.0 / 12.0_f64.sqrt();
    let cases = [
        // Half of 1.5 um where nothing is said.
        ("uncertainty = \"0.0015 mm\"\n", 0.75),
        ("uncertainty = \"0.0015 mm\"\nrepeatability = \"0.0015 mm\"\n", 1.5),
        ("uncertainty = \"0.0015 mm\"\nrepeatability = \"0 mm\"\n", 0.0),
        // A hand that is larger than the whole is all there is.
        ("uncertainty = \"0.0015 mm\"\nrepeatability = \"0.002 mm\"\n", 2.0),
    ];
    for (gauge, hand) in cases {
        let found = judged(&bore(gauge));
        for name in ["bore_taper", "bore_out_of_round"] {
            let doubt = figure(&found, name).value.uncertainty() / UM;
            assert!((doubt - 2.0_f64.sqrt() * step.hypot(hand)).abs() < 1e-3, "{gauge}{name}: {doubt}");
        }
        // One reading is as doubtful as was stated, or as its hand if that is more; heat 54 mm * 11.5e-6 * 0.577 K beside it.
        let one = figure(&found, "least_bore").value.uncertainty() / UM;
        assert!((one - step.hypot(hand.max(1.5)).hypot(0.3585)).abs() < 1e-3, "{gauge}{one}");
    }
    // With 1.5 um all of the hand: 0.008 mm, give or take 0.004.
    let all = judged(&bore(cases[1].0));
    let taper = &figure(&all, "bore_taper").value;
    assert!((taper.value() / UM - 8.0).abs() < 1e-2 && (3.5..4.5).contains(&(taper.expanded() / UM)));
}

const PISTON: &str = "[gauges.outside]\nresolution = \"0.001 mm\"\nuncertainty = \"0.002 mm\"\n\
    [gauges.bore]\nresolution = \"0.001 mm\"\nuncertainty = \"0.0015 mm\"\n";
const ALLOY: &str = "expansion of the piston's alloy";

#[test]
fn the_alloy_of_a_piston_is_said_or_in_the_doubt() {
    let measured = |warm: &str, expansion: &str| {
        judged(&format!("temperature = \"{warm}\"\n{PISTON}[piston]\ndiameter = \"53.940 mm\"\n{expansion}"))
    };
    // At 20 C it does not matter.
    assert!(part(figure(&measured("20 C", ""), "piston_diameter"), ALLOY) < 1e-12);
    let warm = measured("32 C", "");
    // 53.94 mm * 12 K * 2.75e-6/sqrt(3).
    let off = part(figure(&warm, "piston_diameter"), ALLOY) / UM;
    assert!((off - 53.94e3 * 12.0 * 2.75e-6 / 3.0_f64.sqrt()).abs() < 1e-3, "{off}");
    let value =
        |found: &reedbook::advice::building::Judgement| figure(found, "piston_diameter").value.value() / UM;
    for said in [18.0, 23.5] {
        let known = measured("32 C", &format!("expansion = {said}\n"));
        assert!(part(figure(&known, "piston_diameter"), ALLOY) < 1e-12);
        // What is not said holds either within twice its doubt of that source.
        let apart = (value(&known) - value(&warm)).abs();
        assert!((apart - 53.94e3 * 12.0 * 2.75e-6).abs() < 0.01 && apart < 2.0 * off, "{said}: {apart}");
    }
}

/// What a gauge zeroed on the piston shows is the clearance as warm as it was: what the two grow apart from there is in doubt.
#[test]
fn zeroed_on_the_piston_the_alloy_is_in_the_clearance_once() {
    let text = |piston: &str| {
        format!(
            "temperature = \"32 C\"\n{PISTON}set_on = \"piston\"\n[bore.top]\ndepth = \"12 mm\"\nalong_pin = \"0.058 mm\"\n\
             [piston]\n{piston}"
        )
    };
    let known = judged(&text("diameter = \"53.940 mm\"\n"));
    let wanted = 53.94e3 * 12.0 * 2.75e-6 / 3.0_f64.sqrt();
    let room = part(figure(&known, "piston_clearance"), ALLOY) / UM;
    assert!((room - wanted).abs() < 2e-3, "{room}");
    // The bore itself was as large as the piston and the needle said.
    assert!(part(figure(&known, "least_bore"), ALLOY) < 1e-12);
}
