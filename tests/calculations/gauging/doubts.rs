//! Laws of doubt.

use reedbook::engine::doubt::{Doubtful, of_resolution, rectangular};

use super::{refused, same};

/// A value with up to four sources, some of which others have too.
fn drawn(draw: &mut fastrand::Rng) -> Doubtful {
    let mut found = Doubtful::exact(2.0 + 3.0 * draw.f64());
    for source in ["setting", "thermometer", "scale", "own"] {
        if draw.bool() {
            let own = if source == "own" { format!("own {}", draw.u64(..)) } else { source.to_owned() };
            found = found.also(&own, 0.02 * draw.f64() - 0.01);
        }
    }
    found
}

/// Values and every part alike.
fn alike(a: &Doubtful, b: &Doubtful) -> bool {
    same(a.value(), b.value()) && a.minus(b).uncertainty() < 1e-15
}

/// Covariance from the parts.
fn together(a: &Doubtful, b: &Doubtful) -> f64 {
    let of_b = |name: &str| b.parts().find(|part| part.0 == name).map_or(0.0, |part| part.1);
    a.parts().map(|(name, part)| part * of_b(name)).sum()
}

#[test]
fn what_is_shared_cancels_and_what_is_not_adds_in_squares() {
    let setting = Doubtful::new(0.0, "setting", 4e-6);
    let (a, b) = (Doubtful::new(0.054, "first", 3e-6), Doubtful::new(0.053, "second", 4e-6));
    assert!(same(a.minus(&b).uncertainty(), 5e-6) && same(a.plus(&b).uncertainty(), 5e-6));
    let (read_a, read_b) = (a.plus(&setting), b.plus(&setting));
    assert!(same(read_a.uncertainty(), 5e-6) && same(read_b.uncertainty(), 32e-12_f64.sqrt()));
    assert!(same(read_a.minus(&read_b).uncertainty(), 5e-6));
    // Twice the setting's 4 um, and the two readings' 5 um.
    assert!(same(read_a.plus(&read_b).uncertainty(), 89e-12_f64.sqrt()));
    let nothing = read_a.minus(&read_a);
    assert!(nothing.uncertainty() == 0.0 && nothing.value() == 0.0 && nothing.main_source().is_none());
    // Under one name contributions add up with their signs.
    assert!(same(Doubtful::new(1.0, "scale", 3.0).also("scale", 4.0).uncertainty(), 7.0));
    assert!(same(Doubtful::new(1.0, "scale", 3.0).also("scale", -4.0).uncertainty(), 1.0));
    assert!(same(Doubtful::new(1.0, "scale", -3.0).uncertainty(), 3.0));
}

#[test]
fn sums_and_products_follow_their_laws() {
    let mut draw = fastrand::Rng::with_seed(1);
    for _ in 0..500 {
        let (a, b, c) = (drawn(&mut draw), drawn(&mut draw), drawn(&mut draw));
        let factor = 4.0 * draw.f64() - 2.0;
        assert!(alike(&a.plus(&b), &b.plus(&a)) && alike(&a.product(&b), &b.product(&a)));
        assert!(alike(&a.plus(&b).minus(&b), &a) && alike(&a.product(&b).quotient(&b).unwrap(), &a));
        assert!(alike(&a.plus(&b).plus(&c), &a.plus(&b.plus(&c))));
        assert!(alike(&a.product(&b.plus(&c)), &a.product(&b).plus(&a.product(&c))));
        assert!(alike(&a.times(factor), &a.product(&Doubtful::exact(factor))));
        assert!(same(a.times(factor).uncertainty(), factor.abs() * a.uncertainty()));
        assert!(alike(&a.minus(&b), &a.plus(&b.times(-1.0))));
        let ratio = a.quotient(&a).unwrap();
        assert!(same(ratio.value(), 1.0) && ratio.uncertainty() < 1e-15);
        assert!(same(a.expanded(), 2.0 * a.uncertainty()));
    }
}

/// The law of propagation itself, equation (13) of the GUM, with slopes by small steps.
#[test]
fn slopes_and_covariances_give_the_same_doubt() {
    let mut draw = fastrand::Rng::with_seed(2);
    for _ in 0..300 {
        let (a, b) = (drawn(&mut draw), drawn(&mut draw));
        let product = a.product(&b).uncertainty();
        let quotient = a.quotient(&b).unwrap().uncertainty();
        for (found, of) in [(product, (|a, b| a * b) as fn(f64, f64) -> f64), (quotient, |a, b| a / b)] {
            let step = 1e-5;
            let (at, beside) = (a.value(), b.value());
            let to_a = (of(at + step, beside) - of(at - step, beside)) / (2.0 * step);
            let to_b = (of(at, beside + step) - of(at, beside - step)) / (2.0 * step);
            let squares = (to_a * a.uncertainty()).powi(2) + (to_b * b.uncertainty()).powi(2);
            let expected = (squares + 2.0 * to_a * to_b * together(&a, &b)).max(0.0).sqrt();
            assert!((found - expected).abs() < 1e-8, "{found}, {expected}");
        }
    }
}

#[test]
fn the_main_source_is_the_one_that_adds_most() {
    let reading = Doubtful::new(0.054, "resolution", 0.6e-6).also("setting", -2e-6).also("zero", 1e-6);
    assert_eq!(reading.main_source(), Some("setting"));
    let parts: Vec<&str> = reading.parts().map(|part| part.0).collect();
    assert_eq!(parts, ["resolution", "setting", "zero"]);
    let other = Doubtful::new(0.0539, "setting", -2e-6).also("another resolution", 0.5e-6);
    assert_eq!(reading.minus(&other).main_source(), Some("zero"));
    assert_eq!(Doubtful::new(1.0, "b", 2.0).also("a", -2.0).main_source(), Some("a"));
    assert_eq!(Doubtful::exact(1.0).main_source(), None);
    assert_eq!(Doubtful::new(1.0, "a", 0.0).main_source(), None);
}

/// What lies within a half-width alike scatters by what is said of it.
#[test]
fn rectangular_is_the_scatter_of_what_lies_anywhere_within() {
    assert!(same(rectangular(3.0), 3.0_f64.sqrt()));
    assert!(same(of_resolution(0.002), 0.002 / 12.0_f64.sqrt()));
    let mut draw = fastrand::Rng::with_seed(3);
    let (mut squares, count) = (0.0, 100_000);
    for _ in 0..count {
        let size = draw.f64();
        squares += (size - (size / 0.1).round() * 0.1).powi(2);
    }
    let scatter = (squares / f64::from(count)).sqrt();
    assert!((scatter / of_resolution(0.1) - 1.0).abs() < 0.01, "{scatter}");
}

#[test]
fn nothing_is_divided_by_nought() {
    let one = Doubtful::new(1.0, "a", 0.1);
    for bad in [0.0, 0.9e-9, -0.9e-9, 1.1e9, f64::NAN, f64::INFINITY] {
        assert_eq!(refused(one.quotient(&Doubtful::exact(bad))), "size of the divisor");
    }
    for good in [1e-9, -1e-9, 1e9] {
        assert!(one.quotient(&Doubtful::exact(good)).is_ok());
    }
    let said = one.quotient(&Doubtful::exact(0.0)).unwrap_err().to_string();
    assert!(
        said.starts_with("The size of the divisor is 0; allowed is 0.000000001 to 1000000000."),
        "{said}"
    );
    // Not-a-number is never lost on the way.
    assert!(one.plus(&Doubtful::new(1.0, "b", f64::NAN)).uncertainty().is_nan());
    assert!(Doubtful::exact(f64::NAN).times(2.0).value().is_nan());
}
