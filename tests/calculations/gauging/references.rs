//! The reference rows of gauging, computed by the program.

use reedbook::engine::doubt::{Doubtful, rectangular};
use reedbook::engine::fits::Material;
use reedbook::engine::gauging::bore_map::{BoreAxis, BoreMap, Level};
use reedbook::engine::gauging::{
    Zeroed, bore_growth_from_gap, clearance, difference_at_20, hand_and_common, size_at_20,
};

use super::groups::Inputs;

const STEEL: f64 = Material::Steel.expansion_per_k();

/// Raw data of H.2, JCGM 100:2008 (from memory): V, mA, rad, five readings each, taken together.
const VOLTAGE: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
const CURRENT: [f64; 5] = [19.663, 19.639, 19.640, 19.685, 19.678];
const PHASE: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

/// Values in mm, doubts in um; of H.2 in ohm, of H.1 in nm.
pub(crate) fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    if let Some(asked) = kind.strip_prefix("H.2 raw, ") {
        return impedance(asked, &raw(), inputs);
    }
    if let Some(asked) = kind.strip_prefix("H.2, ") {
        return impedance(asked, &correlated(inputs), inputs);
    }
    match kind {
        "H.1, value" => end_gauge(inputs).value(),
        "H.1, doubt" => end_gauge(inputs).uncertainty(),
        other => match other.strip_prefix("doubt of ") {
            Some(figure) => 1e6 * length(figure, inputs).uncertainty(),
            None => 1e3 * length(other, inputs).value(),
        },
    }
}

fn length(kind: &str, inputs: &mut Inputs) -> Doubtful {
    match kind {
        "size at 20 C" => {
            let (gauge, part) = thermometer(inputs);
            let reading = Doubtful::new(mm(inputs, "reading_mm"), "step", um(inputs, "step_um"))
                .also("setting", um(inputs, "setting_um"));
            let of_gauge = expansion(inputs, "gauge");
            size_at_20(&reading, &gauge, of_gauge, &part, expansion(inputs, "part")).unwrap()
        }
        "bore from a steel master" => {
            let (zeroed, part) = on_master(inputs);
            let difference =
                Doubtful::new(um(inputs, "difference_um"), "the bore's step", um(inputs, "step_um"));
            difference_at_20(&difference, &zeroed, &part, expansion(inputs, "part")).unwrap()
        }
        "clearance, zeroed on the piston" => room(inputs, true),
        "clearance, one micrometer" => room(inputs, false),
        "taper" | "taper by hand" => map(inputs).taper().unwrap().difference,
        "out of round" | "out of round by hand" => map(inputs).out_of_round().unwrap().difference,
        "bore by hand" => {
            let map = map(inputs);
            let first = map.levels().iter().min_by(|a, b| a.depth_m.total_cmp(&b.depth_m)).unwrap();
            let across = first.readings.iter().find(|(axis, _)| *axis == BoreAxis::AcrossPin);
            across.unwrap().1.clone()
        }
        "growth from the gap" => {
            let (step, feeler) = (um(inputs, "step_um"), um(inputs, "feeler_um"));
            let mut gap = |when: &str| {
                Doubtful::new(mm(inputs, &format!("{when}_mm")), when, step).also("feeler", feeler)
            };
            let (now, then) = (gap("now"), gap("then"));
            bore_growth_from_gap(&now.also("ring", um(inputs, "ring_um")), &then).unwrap()
        }
        other => panic!("no calculation for {other}"),
    }
}

fn mm(inputs: &mut Inputs, name: &str) -> f64 {
    1e-3 * inputs.take(name)
}

fn um(inputs: &mut Inputs, name: &str) -> f64 {
    1e-6 * inputs.take(name)
}

fn expansion(inputs: &mut Inputs, of: &str) -> f64 {
    1e-6 * inputs.take(&format!("{of}_expansion"))
}

/// Temperatures of gauge and part as one thermometer told them, each with a doubt of its own beside.
fn thermometer(inputs: &mut Inputs) -> (Doubtful, Doubtful) {
    let common = inputs.take("thermometer_k");
    let mut told = |of: &str| {
        Doubtful::new(inputs.take(&format!("{of}_c")), of, inputs.take(&format!("{of}_k")))
            .also("thermometer", common)
    };
    (told("gauge"), told("part"))
}

fn on_master(inputs: &mut Inputs) -> (Zeroed, Doubtful) {
    let (gauge, part) = thermometer(inputs);
    let master = Doubtful::new(mm(inputs, "master_mm"), "master", um(inputs, "master_um"));
    (Zeroed::on_steel_master(&master, &gauge).unwrap(), part)
}

/// A piston by a steel micrometer; the bore by a gauge zeroed on that piston, or on the micrometer itself.
fn room(inputs: &mut Inputs, on_piston: bool) -> Doubtful {
    let (gauge, part) = thermometer(inputs);
    let (of_piston, of_case) = (expansion(inputs, "piston"), expansion(inputs, "case"));
    let micrometer = um(inputs, "micrometer_um");
    let read = Doubtful::new(mm(inputs, "piston_mm"), "micrometer", micrometer);
    let piston = size_at_20(&read, &gauge, STEEL, &part, of_piston).unwrap();
    let zeroed = if on_piston {
        Zeroed::on(&piston, &part, of_piston).unwrap()
    } else {
        let master = Doubtful::new(mm(inputs, "master_mm"), "micrometer", micrometer);
        Zeroed::on_steel_master(&master, &gauge).unwrap()
    };
    let difference = Doubtful::new(um(inputs, "difference_um"), "step", um(inputs, "step_um"));
    let bore = difference_at_20(&difference, &zeroed, &part, of_case).unwrap();
    clearance(&bore, &piston).unwrap()
}

fn map(inputs: &mut Inputs) -> BoreMap {
    let (zeroed, part) = on_master(inputs);
    let (of_part, step) = (expansion(inputs, "part"), um(inputs, "step_um"));
    let stated = 1e-6 * inputs.take_or("stated_um", 0.0);
    let said = inputs.take_or("hand_um", f64::NAN);
    let (hand, common) = hand_and_common(stated, (!said.is_nan()).then_some(1e-6 * said)).unwrap();
    let axes =
        [("along", BoreAxis::AlongPin), ("across", BoreAxis::AcrossPin), ("left", BoreAxis::DiagonalLeft)];
    let mut levels = Vec::new();
    for (name, depth_m) in [("top", 0.01), ("middle", 0.03), ("bottom", 0.05)] {
        let mut readings = Vec::new();
        for (word, axis) in axes {
            let place = format!("at_{name}_{word}");
            let found = inputs.take_or(&place, f64::NAN);
            if !found.is_nan() {
                let difference = Doubtful::new(1e-6 * found, &place, step)
                    .also(&format!("hand {place}"), hand)
                    .also("setting", common);
                readings.push((axis, difference_at_20(&difference, &zeroed, &part, of_part).unwrap()));
            }
        }
        if !readings.is_empty() {
            levels.push(Level { name: name.to_owned(), depth_m, readings });
        }
    }
    BoreMap::new(levels).unwrap()
}

/// Three means that share the deviations of their readings: those are then the sources.
fn raw() -> [Doubtful; 3] {
    let mean = |readings: [f64; 5]| {
        let mean = readings.iter().sum::<f64>() / 5.0;
        readings.iter().enumerate().fold(Doubtful::exact(mean), |found, (at, reading)| {
            found.also(&format!("reading {at}"), (reading - mean) / 20.0_f64.sqrt())
        })
    };
    [mean(VOLTAGE), mean(CURRENT).times(1e-3), mean(PHASE)]
}

/// Three values with the correlations that are given, from three independent sources: the matrix of
/// correlations by Cholesky.
fn correlated(inputs: &mut Inputs) -> [Doubtful; 3] {
    let (vi, vp, ip) = (inputs.take("r_vi"), inputs.take("r_vp"), inputs.take("r_ip"));
    let second = (1.0 - vi * vi).sqrt();
    let third = (ip - vi * vp) / second;
    let rows = [[1.0, 0.0, 0.0], [vi, second, 0.0], [vp, third, (1.0 - vp * vp - third * third).sqrt()]];
    let mut made = |name: &str, row: [f64; 3], unit: f64| {
        let doubt = unit * inputs.take(&format!("u_{name}"));
        let value = Doubtful::exact(unit * inputs.take(name));
        row.iter().enumerate().fold(value, |value, (at, part)| value.also(&at.to_string(), part * doubt))
    };
    [made("v", rows[0], 1.0), made("i", rows[1], 1e-3), made("p", rows[2], 1.0)]
}

/// H.2: R = V/I cos φ, X = V/I sin φ, Z = V/I.
fn impedance(asked: &str, [voltage, current, phase]: &[Doubtful; 3], inputs: &mut Inputs) -> f64 {
    let ratio = voltage.quotient(current).unwrap();
    let away = phase.minus(&Doubtful::exact(phase.value()));
    let (sine, cosine) = phase.value().sin_cos();
    let found = [
        ratio.product(&Doubtful::exact(cosine).plus(&away.times(-sine))),
        ratio.product(&Doubtful::exact(sine).plus(&away.times(cosine))),
        ratio,
    ];
    let mut which = |name: &str| {
        let number = inputs.take(name);
        let at = (1..=3_u8).position(|of| (f64::from(of) - number).abs() < 0.1);
        &found[at.unwrap()]
    };
    let of = which("of");
    match asked {
        "value" => of.value(),
        "doubt" => of.uncertainty(),
        "correlation" => {
            let with = which("with");
            // Of the doubt of the sum only the correlation is not known.
            let (a, b, both) = (of.uncertainty(), with.uncertainty(), of.plus(with).uncertainty());
            (both * both - a * a - b * b) / (2.0 * a * b)
        }
        other => panic!("no {other} in H.2"),
    }
}

/// H.1: l = ls + d - ls (δα θ + αs δθ), to first order.
fn end_gauge(inputs: &mut Inputs) -> Doubtful {
    let standard = Doubtful::new(inputs.take("standard_nm"), "standard", inputs.take("u_standard"));
    let difference = Doubtful::new(inputs.take("d_nm"), "readings", inputs.take("u_d1"))
        .also("comparator at random", inputs.take("u_d2"))
        .also("comparator's scale", inputs.take("u_d3"));
    let unlike = Doubtful::new(0.0, "expansion", 1e-6 * rectangular(inputs.take("unlike")));
    let apart = Doubtful::new(0.0, "temperatures apart", rectangular(inputs.take("apart_k")));
    let grown = unlike.times(inputs.take("mean_k")).plus(&apart.times(1e-6 * inputs.take("expansion")));
    standard.plus(&difference).minus(&standard.product(&grown))
}
