//! Whole builds worked by hand. Coefficients as the program has them: aluminium 23, steel 11.5, cast iron 10.5, magnesium
//! 26, all e-6/K; the pistons say 23. Doubts: a step r of a gauge brings r/sqrt(12), a thermometer that was read 1/sqrt(3) K.

use super::{GAUGES, UM, assert_figure, figure, judged, names, part};
use reedbook::report::worded;

/// A millimetre, m.
const MM: f64 = 1e-3;

const READINGS: &str = r#"
[bore.top]
depth = "12 mm"
along_pin = "54.002 mm"
across_pin = "54.006 mm"
[bore.middle]
depth = "30 mm"
along_pin = "54.000 mm"
across_pin = "54.003 mm"
[bore.bottom]
depth = "60 mm"
along_pin = "53.998 mm"
across_pin = "54.001 mm"
[piston]
diameter = "53.940 mm"
gauge_height = "12 mm"
expansion = 23
pin_bore = "15.003 mm"
[ring]
side_clearance = "0.04 mm"
[ring.gaps.top]
depth = "12 mm"
gap = "0.31 mm"
[ring.gaps.bottom]
depth = "60 mm"
gap = "0.29 mm"
[pin]
diameter = "14.999 mm"
[rod]
small_end_bore = "19.005 mm"
side_clearance = "0.55 mm"
big_end_play = "0.012 mm"
[crank]
runout_left = "0.010 mm"
runout_right = "0.016 mm"
[squish]
front = "0.78 mm"
rear = "0.72 mm"
left = "0.76 mm"
right = "0.74 mm"
[deck]
height = "-0.10 mm"
[chamber]
volume = "8.6 cc"
[reed]
tension = "45 g"
gap = "0.05 mm"
[seats.main-right]
case_bore = "51.990 mm"
bearing_outside = "51.993 mm"
bearing_bore = "24.997 mm"
[seats.main-left]
case_bore = "51.985 mm"
bearing_outside = "51.995 mm"
bearing_bore = "24.996 mm"
shaft = "25.008 mm"
"#;

#[test]
fn a_whole_engine_at_20_c() {
    let judged = judged(&format!("temperature = \"20 C\"\n{GAUGES}{READINGS}"));
    assert!(judged.remarks.is_empty(), "{:?}", judged.remarks);
    let wanted = [
        // Resolution 2/sqrt(12) = 0.577 um, setting 1.5 um, heat 53.998 mm * 11.5e-6/K * 0.577 K = 0.3585 um.
        ("least_bore", 53.998e3, 1.646_77),
        ("greatest_bore", 54.006e3, 1.646_78),
        // Across the pin 54.006 - 54.001 beats along it 54.002 - 53.998; two resolutions and twice the hand, half of the 1.5
        // that is stated, are left: sqrt(2) * sqrt(0.577^2 + 0.75^2).
        ("bore_taper", 5.0, 1.338_53),
        // At the top 4, below it 3.
        ("bore_out_of_round", 4.0, 1.338_53),
        // 1/sqrt(12) = 0.2887, 2, heat 0.3581.
        ("piston_diameter", 53.940e3, 2.052_22),
        // sqrt(0.3333 + 2.25 + 0.0833 + 4): bore and piston of one metal, so heat is out of it.
        ("piston_clearance", 58.0, 2.581_99),
        // sqrt(2.88675^2 + 10^2 + (pi * 53.998e3 * 11.5e-6 * 0.57735 = 1.12633)^2).
        ("ring_gap", 290.0, 10.469_09),
        ("ring_gap_widest", 310.0, 10.469_09),
        ("ring_side_clearance", 40.0, 10.408_33),
        // sqrt(0.3333 + 9 + 0.0833 + 4 + (15.003e3 * 11.5e-6 * 0.57735 = 0.0996)^2).
        ("pin_in_piston", 4.0, 3.664_23),
        // Steel on steel: sqrt(0.0833 + 4).
        ("pin_diameter", 14.999e3, 2.020_73),
        ("small_end_bore", 19.005e3, 3.055_05),
        ("rod_side_clearance", 550.0, 10.408_33),
        ("big_end_play", 12.0, 3.055_05),
        ("crank_runout", 16.0, 3.055_05),
        // Each sqrt(8.3333 + 900); of four, half of that.
        ("squish_mean", 750.0, 15.069_28),
        // The least of the four.
        ("squish_least", 720.0, 30.138_57),
        // 0.78 - 0.72; sqrt(2) of one.
        ("squish_tilt", 60.0, 42.622_37),
        ("deck_height", -100.0, 3.055_05),
        ("reed_gap", 50.0, 10.408_33),
        // 51.995 - 51.985; sqrt(0.3333 + 9 + 0.0833 + 4 + (51.985e3 * 11.5e-6 * 0.57735 = 0.3452)^2).
        ("bearing_in_case", 10.0, 3.679_11),
        // 25.008 - 24.996, steel on steel.
        ("bearing_on_shaft", 12.0, 3.662_88),
    ];
    for (name, value, doubt) in wanted {
        assert_figure(&judged, name, UM, (value, doubt), 2e-4);
    }
    // 0.05/sqrt(12) and 0.05 cc; 1/sqrt(12) and 2 g.
    assert_figure(&judged, "chamber_volume", 1e-6, (8.6, 0.052_042), 1e-6);
    assert_figure(&judged, "reed_tension", 1e-3, (45.0, 2.020_726), 1e-6);
    let places = [
        ("least_bore", "bottom, along the pin"),
        ("greatest_bore", "top, across the pin"),
        ("bore_taper", "top wider than bottom, across the pin"),
        ("bore_out_of_round", "top, wider across the pin"),
        ("piston_clearance", "bottom, along the pin"),
        ("ring_gap", "bottom"),
        ("ring_gap_widest", "top"),
        ("crank_runout", "right"),
        ("squish_tilt", "front wider than rear"),
    ];
    for (name, place) in places {
        assert_eq!(figure(&judged, name).at.as_deref(), Some(place), "{name}");
    }
    assert_eq!(figure(&judged, "squish_mean").at, None);
}

/// Every figure once, in the order of reading; of the seats only what can be known.
#[test]
fn the_figures_come_in_the_order_of_reading() {
    let judged = judged(&format!("temperature = \"20 C\"\n{GAUGES}{READINGS}"));
    let wanted = "least_bore greatest_bore bore_taper bore_out_of_round piston_diameter piston_clearance ring_gap \
        ring_gap_widest ring_side_clearance pin_in_piston pin_diameter small_end_bore rod_side_clearance big_end_play \
        crank_runout squish_mean squish_least squish_tilt deck_height chamber_volume reed_tension reed_gap";
    let mut wanted: Vec<_> = wanted.split_whitespace().map(str::to_owned).collect();
    wanted.extend(
        ["bearing_in_case main-left", "bearing_in_case main-right", "bearing_on_shaft main-left"]
            .map(str::to_owned),
    );
    assert_eq!(names(&judged), wanted);
    let right = judged.figures.iter().find(|figure| figure.seat.as_deref() == Some("main-right")).unwrap();
    assert!((right.value.value() / UM - 3.0).abs() < 1e-6);
    assert_eq!(right.words(), "bearing in case, main-right");
    assert!(judged.figures.iter().all(|figure| figure.judged.is_none() && figure.edges.is_none()));
}

#[test]
fn a_whole_engine_at_30_c() {
    let judged = judged(&format!("temperature = \"30 C\"\n{GAUGES}{READINGS}"));
    // Aluminium by a steel gauge as warm: 1.000115/1.00023 = 1 - 1.1497356e-4 of what was read.
    let wanted = [
        ("least_bore", 53.998 - 0.006_208_34),
        ("greatest_bore", 54.006 - 0.006_209_26),
        ("piston_diameter", 53.940 - 0.006_201_67),
        // 0.058 * 0.999885.
        ("piston_clearance", 0.057_993_33),
        // 0.29 - pi * 53.99179 * 11.5e-6 * 10: the cylinder has grown away from its steel ring.
        ("ring_gap", 0.29 - 0.019_506_33),
        ("ring_gap_widest", 0.31 - 0.019_506_33),
        // 15.003 * 0.999885026 - 14.999: the pin is of steel, like its micrometer.
        ("pin_in_piston", 0.004 - 0.001_724_95),
        ("pin_diameter", 14.999),
        ("small_end_bore", 19.005),
        // 51.995 - 51.985 * 0.999885026.
        ("bearing_in_case", 0.010 + 0.005_976_9),
        ("bearing_on_shaft", 0.012),
        // Small ones stay as they were read.
        ("squish_mean", 0.75),
        ("deck_height", -0.10),
    ];
    for (name, value) in wanted {
        let is = figure(&judged, name).value.value() / MM;
        assert!((is - value).abs() < 2e-8, "{name} is {is} and should be {value}");
    }
}

/// A liner of iron and cases of magnesium.
#[test]
fn other_metals_at_30_c() {
    let metals = "temperature = \"30 C\"\ncylinder_material = \"cast-iron\"\ncase_material = \"magnesium\"\n";
    let judged = judged(&format!("{metals}{GAUGES}{READINGS}"));
    let wanted = [
        // 53.998 * 1.000115/1.000105 = 53.998 * (1 + 9.99895e-6).
        ("least_bore", 53.998 + 0.000_539_92),
        // That less 53.940 - 0.00620167.
        ("piston_clearance", 0.058 + 0.000_539_92 + 0.006_201_67),
        // Iron grows by 1e-6/K less than the ring: 0.29 + pi * 53.9985 * 1e-6 * 10.
        ("ring_gap", 0.29 + 0.001_696_41),
        // 1.000115/1.00026 = 1 - 1.449623e-4; 51.985 of it is 0.00753587.
        ("bearing_in_case", 0.010 + 0.007_535_87),
        ("pin_in_piston", 0.004 - 0.001_724_95),
    ];
    for (name, value) in wanted {
        let is = figure(&judged, name).value.value() / MM;
        assert!((is - value).abs() < 2e-8, "{name} is {is} and should be {value}");
    }
    // One thermometer moves bore and piston unlike: 53.94 * 12.5e-6 * 0.577 is 0.389 um.
    let heat = part(figure(&judged, "piston_clearance"), "temperature of the parts") / UM;
    assert!((heat - 0.389).abs() < 2e-3, "{heat}");
}

/// The gauge lay in a cool drawer, the parts are warm.
#[test]
fn a_gauge_with_a_temperature_of_its_own() {
    let text = "temperature = \"30 C\"\n[gauges.bore]\nresolution = \"0.002 mm\"\ntemperature = \"20 C\"\n\
        [bore.top]\ndepth = \"12 mm\"\nalong_pin = \"54.002 mm\"\n";
    let judged = judged(text);
    // 54.002/1.00023, and each thermometer by itself: 54.002 * 11.5e-6 and 54 * 23e-6, times 0.57735 K.
    let bore = figure(&judged, "least_bore");
    assert!((bore.value.value() / MM - 53.989_582_4).abs() < 1e-7, "{}", bore.value.value());
    assert!((part(bore, "temperature of the bore gauge") / UM - 0.3585).abs() < 2e-4);
    assert!((part(bore, "temperature of the parts") / UM - 0.7168).abs() < 5e-4);
}

/// Without a word on a gauge, here or in the limits, the digits that were written bound what it shows.
#[test]
fn written_digits_bound_a_reading() {
    let doubt = |text: &str, name: &str| figure(&judged(text), name).value.uncertainty() / UM;
    let step = |um: f64| um / 12.0_f64.sqrt();
    for (reading, um) in [
        ("\"0.3 mm\"", 100.0),
        ("\"0.30 mm\"", 10.0),
        ("0.30", 100.0),
        ("\"12 thou\"", 25.4),
        ("\"0.012 in\"", 25.4),
    ] {
        let is = doubt(&format!("[rod]\nside_clearance = {reading}\n"), "rod_side_clearance");
        assert!((is - step(um)).abs() < 1e-6, "{reading}: {is}");
    }
    // No digit that counts: a hundredth of a millimetre.
    let is = doubt("[crank]\nrunout_left = \"0 mm\"\n", "crank_runout");
    assert!((is - step(10.0)).abs() < 1e-6, "{is}");
    let chamber = judged("[chamber]\nvolume = \"8.60 cc\"\n[reed]\ntension = \"45 g\"\n");
    assert_figure(&chamber, "chamber_volume", 1e-6, (8.6, 0.1 / 12.0_f64.sqrt()), 1e-9);
    assert_figure(&chamber, "reed_tension", 1e-3, (45.0, 1.0 / 12.0_f64.sqrt()), 1e-9);
}

#[test]
fn solder_at_fewer_places_than_four() {
    let three = judged("[squish]\nfront = \"0.80 mm\"\nrear = \"0.70 mm\"\nright = \"0.72 mm\"\n");
    assert_eq!(figure(&three, "squish_mean").at.as_deref(), Some("front, rear, right only"));
    assert!((figure(&three, "squish_mean").value.value() / MM - 0.74).abs() < 1e-12);
    assert_eq!(figure(&three, "squish_tilt").at.as_deref(), Some("front wider than rear"));
    let one = judged("[squish]\nleft = \"0.80 mm\"\n");
    assert_eq!(names(&one), ["squish_mean"]);
    assert_eq!(figure(&one, "squish_mean").at.as_deref(), Some("left only"));
}

/// A part alone tells nothing of how it fits another.
#[test]
fn what_was_not_measured_is_no_figure() {
    assert_eq!(names(&judged("")), Vec::<String>::new());
    assert_eq!(names(&judged("[piston]\npin_bore = \"15.003 mm\"\ngauge_height = \"12 mm\"\n")), [""; 0]);
    assert_eq!(names(&judged("[pin]\ndiameter = \"14.999 mm\"\n")), ["pin_diameter"]);
    assert_eq!(names(&judged("[piston]\ndiameter = \"53.940 mm\"\n")), ["piston_diameter"]);
    let bore = judged("[bore.top]\ndepth = \"12 mm\"\nalong_pin = \"54.002 mm\"\n");
    assert_eq!(names(&bore), ["least_bore", "greatest_bore"]);
    assert!(
        bore.remarks.iter().any(|said| worded(said).contains("A full bore map has 3 depths")),
        "{bore:?}"
    );
    let one = judged("[ring.gaps.top]\ndepth = \"12 mm\"\ngap = \"0.30 mm\"\n");
    assert_eq!(names(&one), ["ring_gap"]);
    assert_eq!(names(&judged("[seats.left]\nshaft = \"25.008 mm\"\ncase_bore = \"51.99 mm\"\n")), [""; 0]);
}
