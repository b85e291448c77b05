//! Sizes at 20 C, from any gauge.

use reedbook::engine::doubt::Doubtful;
use reedbook::engine::fits::{Material, length_at_20_c_m, length_at_m};
use reedbook::engine::gauging::{Zeroed, bore_growth_from_gap, clearance, difference_at_20, size_at_20};

use super::{refused, same};

const ALUMINIUM: f64 = Material::Aluminium.expansion_per_k();
const STEEL: f64 = Material::Steel.expansion_per_k();
const IRON: f64 = Material::CastIron.expansion_per_k();

fn at(celsius: f64) -> Doubtful {
    Doubtful::exact(celsius)
}

#[test]
fn a_gauge_at_20_reads_as_the_part_is_brought_to_20() {
    let mut draw = fastrand::Rng::with_seed(11);
    for _ in 0..300 {
        let (length, warm) = (0.001 + 0.2 * draw.f64(), 120.0 * draw.f64() - 20.0);
        let read = size_at_20(&at(length), &at(20.0), STEEL, &at(warm), ALUMINIUM).unwrap();
        assert!(same(read.value(), length_at_20_c_m(length, warm, ALUMINIUM).unwrap()));
        // There and back: what a gauge of this warmth shows of a part of that warmth.
        let gauge_c = 50.0 * draw.f64() - 10.0;
        let now = length_at_m(length, 20.0, warm, ALUMINIUM).unwrap();
        let shown = length_at_20_c_m(now, gauge_c, STEEL).unwrap();
        let back = size_at_20(&at(shown), &at(gauge_c), STEEL, &at(warm), ALUMINIUM).unwrap();
        assert!(same(back.value(), length), "{length}");
        // By a difference from a master, or from any part.
        let master = 0.001 + length - 0.002 * draw.f64();
        let stands_at = length_at_m(master, 20.0, gauge_c, STEEL).unwrap();
        let zeroed = Zeroed::on_steel_master(&at(master), &at(gauge_c)).unwrap();
        let back = difference_at_20(&at(now - stands_at), &zeroed, &at(warm), ALUMINIUM).unwrap();
        assert!(same(back.value(), length), "{length}");
    }
}

#[test]
fn worked_by_hand() {
    // 54 mm of aluminium at 30 C by a steel micrometer as warm: 54 (23 - 11.5) 1e-6 10 is 6.21 um too much.
    let read = Doubtful::new(0.054, "micrometer", 2e-6);
    let thirty = Doubtful::new(30.0, "thermometer", 2.0);
    let size = size_at_20(&read, &thirty, STEEL, &thirty, ALUMINIUM).unwrap();
    assert!((size.value() - 0.054 + 6.21e-6).abs() < 2e-9);
    // Two degrees over the difference of the coefficients: 1.24 um.
    let of_heat = size.parts().find(|part| part.0 == "thermometer").unwrap().1;
    assert!((of_heat + 1.242e-6).abs() < 1e-9, "{of_heat}");
    // Steel on steel: no temperature is needed.
    let pin = size_at_20(&read, &thirty, STEEL, &thirty, STEEL).unwrap();
    assert!(same(pin.value(), 0.054) && (pin.uncertainty() - 2e-6).abs() < 1e-15);
    // Each with a thermometer of its own it is not so.
    let other = Doubtful::new(30.0, "another thermometer", 2.0);
    let pin = size_at_20(&read, &thirty, STEEL, &other, STEEL).unwrap();
    assert!((pin.uncertainty() - (4.0 + 2.0 * 1.242_f64.powi(2)).sqrt() * 1e-6).abs() < 1e-9);
    // A deck height may be negative.
    let deck = size_at_20(&at(-0.0001), &thirty, STEEL, &thirty, ALUMINIUM).unwrap();
    assert!((deck.value() + 0.0001).abs() < 2e-8);
}

/// Zeroed on the piston, its own micrometer is all but out of the clearance.
#[test]
fn the_micrometer_cancels_in_the_room_of_its_own_piston() {
    let warm = Doubtful::new(32.0, "thermometer", 1.0);
    let read = Doubtful::new(0.05394, "micrometer", 5e-6);
    let piston = size_at_20(&read, &warm, STEEL, &warm, ALUMINIUM).unwrap();
    let zeroed = Zeroed::on(&piston, &warm, ALUMINIUM).unwrap();
    let difference = Doubtful::new(62e-6, "dial", 1e-6);
    let bore = difference_at_20(&difference, &zeroed, &warm, ALUMINIUM).unwrap();
    assert_eq!(bore.main_source(), Some("micrometer"));
    let room = clearance(&bore, &piston).unwrap();
    // Of one metal: exactly what the dial shows, brought to 20.
    assert!(same(room.value(), 62e-6 / (1.0 + 12.0 * ALUMINIUM)));
    let part = |name: &str| room.parts().find(|part| part.0 == name).map_or(0.0, |part| part.1.abs());
    assert!(part("micrometer") < 1e-16 && same(part("dial"), 1e-6 / (1.0 + 12.0 * ALUMINIUM)));
    assert!(part("thermometer") < 2e-9, "{}", part("thermometer"));
    assert_eq!(room.main_source(), Some("dial"));
    // In an iron bore what the two grow apart over 12 K is left: 12 (23 - 10.5)e-6 of it.
    let bore = difference_at_20(&difference, &zeroed, &warm, IRON).unwrap();
    let room = clearance(&bore, &piston).unwrap();
    let left = room.parts().find(|part| part.0 == "micrometer").unwrap().1;
    assert!((left - 5e-6 * 12.0 * 12.5e-6).abs() < 1e-12, "{left}");
    // The bore at 20 is closer to the cold piston than the dial said: both shrink, the piston more.
    assert!(room.value() > 62e-6 && (room.value() - 62e-6 - 0.05394 * 12.0 * 12.5e-6).abs() < 1e-8);
    let heat = room.parts().find(|part| part.0 == "thermometer").unwrap().1;
    assert!((heat - 0.05394 * 12.5e-6).abs() < 1e-8, "{heat}");
}

#[test]
fn a_worn_bore_opens_the_gap_by_pi() {
    let (now, then) = (Doubtful::new(0.45e-3, "now", 10e-6), Doubtful::new(0.30e-3, "then", 10e-6));
    let growth = bore_growth_from_gap(&now, &then).unwrap();
    // 0.15/3.1416 and 0.014142/3.1416 mm.
    assert!((growth.value() - 47.746e-6).abs() < 1e-9 && (growth.uncertainty() - 4.502e-6).abs() < 1e-9);
    // One feeler for both that is thick by some: nothing of it.
    let feeler = Doubtful::new(0.0, "feeler", 5e-6);
    let again = bore_growth_from_gap(&now.plus(&feeler), &then.plus(&feeler)).unwrap();
    assert!((again.uncertainty() - growth.uncertainty()).abs() < 1e-15);
    assert!(bore_growth_from_gap(&then, &now).unwrap().value() < 0.0);
    for (bad, good) in [(-1e-6, 0.0), (0.0201, 0.02), (f64::NAN, 3e-4)] {
        let (bad, good) = (Doubtful::exact(bad), Doubtful::exact(good));
        assert_eq!(refused(bore_growth_from_gap(&bad, &then)), "end gap of the ring");
        assert_eq!(refused(bore_growth_from_gap(&then, &bad)), "end gap of the ring");
        assert!(bore_growth_from_gap(&good, &then).is_ok() && bore_growth_from_gap(&then, &good).is_ok());
    }
}

#[test]
fn lengths_out_of_range_are_refused() {
    let part = at(20.0);
    let size = |reading: f64| size_at_20(&at(reading), &part, STEEL, &part, STEEL);
    let zeroed = |master: f64| Zeroed::on_steel_master(&at(master), &part);
    let fifty = zeroed(0.05).unwrap();
    let by = |difference: f64| difference_at_20(&at(difference), &fifty, &part, STEEL);
    for (bad, good) in [(-0.0251, -0.025), (1.001, 1.0), (f64::NAN, 0.0), (f64::INFINITY, 1e-6)] {
        assert_eq!(refused(size(bad)), "reading");
        assert!(size(good).is_ok());
    }
    for (bad, good) in [(0.000_99, 0.001), (1.001, 1.0), (-0.05, 0.05), (f64::NAN, 0.05)] {
        assert_eq!(refused(zeroed(bad)), "diameter");
        assert_eq!(refused(Zeroed::on(&at(bad), &part, ALUMINIUM)), "diameter");
        assert!(zeroed(good).is_ok());
        assert_eq!(refused(clearance(&at(bad), &at(0.05))), "diameter");
        assert_eq!(refused(clearance(&at(0.05), &at(bad))), "diameter");
    }
    for (bad, good) in [(-0.0251, -0.025), (0.0251, 0.025), (f64::NAN, 0.0)] {
        assert_eq!(refused(by(bad)), "difference on the dial");
        assert!(by(good).is_ok());
    }
    // Each in its range, but nothing is left of the diameter.
    let ten = zeroed(0.01).unwrap();
    assert_eq!(refused(difference_at_20(&at(-0.01), &ten, &part, STEEL)), "diameter");
    assert_eq!(refused(clearance(&at(0.054), &at(0.05))), "clearance over the bore");
    assert_eq!(refused(clearance(&at(0.05), &at(0.054))), "clearance over the bore");
    assert!(clearance(&at(0.05), &at(0.0524)).unwrap().value() < 0.0);
}

#[test]
fn temperatures_coefficients_and_doubts_out_of_range_are_refused() {
    let (fifty, cold) = (at(0.05), at(20.0));
    let zeroed = Zeroed::on_steel_master(&fifty, &cold).unwrap();
    let none = at(0.0);
    let all = |c: &Doubtful, per_k: f64| {
        [
            size_at_20(&fifty, c, per_k, &cold, STEEL).map(|_| ()),
            size_at_20(&fifty, &cold, STEEL, c, per_k).map(|_| ()),
            Zeroed::on(&fifty, c, per_k).map(|_| ()),
            difference_at_20(&none, &zeroed, c, per_k).map(|_| ()),
        ]
    };
    let expect = |c: &Doubtful, per_k: f64, field: Option<&str>| {
        for found in all(c, per_k) {
            assert_eq!(found.err().map(|error| error.quantities()[0]), field);
        }
    };
    for (bad, good) in [(-30.1, -30.0), (120.1, 120.0), (f64::NAN, 0.0), (f64::INFINITY, 20.0)] {
        expect(&at(bad), STEEL, Some("temperature at which it was measured"));
        expect(&at(good), STEEL, None);
    }
    for (bad, good) in [(50.1, 50.0), (f64::NAN, 0.0), (f64::INFINITY, 3.0)] {
        expect(&at(20.0).also("a", bad), STEEL, Some("standard uncertainty of the temperature"));
        expect(&at(20.0).also("a", good), STEEL, None);
    }
    for (bad, good) in [(0.9e-7, 1e-7), (1.1e-4, 1e-4), (11.5, STEEL), (f64::NAN, ALUMINIUM)] {
        expect(&cold, bad, Some("coefficient of expansion"));
        expect(&cold, good, None);
    }
    assert_eq!(refused(Zeroed::on_steel_master(&fifty, &at(150.0))), "temperature at which it was measured");
    for (bad, good) in [(0.0101, 0.01), (2.0, 2e-6), (f64::NAN, 0.0)] {
        for (doubt, field) in [(bad, Some("standard uncertainty of the length")), (good, None)] {
            let (length, gap) = (fifty.clone().also("a", doubt), Doubtful::new(3e-4, "a", doubt));
            let found = [
                size_at_20(&length, &cold, STEEL, &cold, STEEL).err(),
                Zeroed::on(&length, &cold, STEEL).err(),
                difference_at_20(&none.clone().also("a", doubt), &zeroed, &cold, STEEL).err(),
                clearance(&length, &fifty).err(),
                clearance(&fifty, &length).err(),
                bore_growth_from_gap(&gap, &at(3e-4)).err(),
                bore_growth_from_gap(&at(3e-4), &gap).err(),
            ];
            for error in found {
                assert_eq!(error.map(|error| error.quantities()[0]), field);
            }
        }
    }
}
