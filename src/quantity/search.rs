//! Numbers that are searched for: where a condition turns, where a function passes nought, and where it is highest.
//!
//! Every search ends after a fixed number of steps, whatever the function does, so that not-a-number cannot keep one going.
//! Sources: bisection, ternary search and Newton's method with bisection as its fallback are textbook methods (Press,
//! Teukolsky, Vetterling, Flannery, Numerical Recipes, chapters 9 and 10; from memory).

use std::convert::Infallible;

/// Halvings of an interval: 2⁻⁶⁰ of it is less than the last digit of a number of its size.
const HALVINGS: u32 = 60;
/// Thirds taken off an interval: (2/3)¹²⁰ of it is as little.
const THIRDS: u32 = 120;
/// Steps of Newton's method; ten are many.
const STEPS: u32 = 200;

/// The two ends between which a condition turns, a last digit or so apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// The last place seen where the condition holds.
    pub holds: f64,
    /// The first place seen where it does not.
    pub fails: f64,
}

impl Turn {
    /// The place between the two.
    pub fn middle(self) -> f64 {
        f64::midpoint(self.holds, self.fails)
    }
}

/// Where a condition turns that holds at the one place and fails at the other, by halving. Between the two it must turn only
/// once; where it does not turn at all the answer is the end that has it wrong.
pub fn turn(holds: f64, fails: f64, mut condition: impl FnMut(f64) -> bool) -> Turn {
    let Ok(turn) = try_turn(holds, fails, |at| Ok::<_, Infallible>(condition(at)));
    turn
}

/// The same where the condition may have no answer; its first error ends the search.
pub fn try_turn<E>(
    holds: f64,
    fails: f64,
    mut condition: impl FnMut(f64) -> Result<bool, E>,
) -> Result<Turn, E> {
    let mut turn = Turn { holds, fails };
    for _ in 0..HALVINGS {
        let middle = turn.middle();
        if condition(middle)? {
            turn.holds = middle;
        } else {
            turn.fails = middle;
        }
    }
    Ok(turn)
}

/// A stretch in which something stays the same, and what it was at the places that were looked at, from its first to its last.
#[derive(Debug, Clone)]
pub struct Stretch<T> {
    /// The places with what was there, ascending; one at least.
    pub seen: Vec<(f64, T)>,
}

impl<T> Stretch<T> {
    /// Its two ends.
    pub fn ends(&self) -> Option<(f64, f64)> {
        Some((self.seen.first()?.0, self.seen.last()?.0))
    }
}

/// The stretches between two places in which something stays the same. It is looked at `step` by `step`, and where two neighbours differ
/// their interval is halved until it is no wider than `close`; what comes and goes between two that are alike is not found.
pub fn stretches<T: Clone, E>(
    (low, high): (f64, f64),
    (step, close): (f64, f64),
    same: impl Fn(&T, &T) -> bool,
    mut look: impl FnMut(f64) -> Result<T, E>,
) -> Result<Vec<Stretch<T>>, E> {
    let mut seen: Vec<(f64, T)> = vec![(low, look(low)?)];
    let mut at = low;
    while at < high && step > 0.0 {
        at = (at + step).min(high);
        // Places still to be looked at, the nearest last.
        let mut ahead = vec![(at, look(at)?)];
        while let Some((place, there)) = ahead.pop() {
            let Some((last, here)) = seen.last() else { break };
            let middle = f64::midpoint(*last, place);
            if same(here, &there) || place - last <= close || middle <= *last || middle >= place {
                seen.push((place, there));
            } else {
                let between = (middle, look(middle)?);
                ahead.push((place, there));
                ahead.push(between);
            }
        }
    }
    let mut found: Vec<Stretch<T>> = Vec::new();
    for (place, there) in seen {
        match found
            .last_mut()
            .filter(|stretch| stretch.seen.last().is_some_and(|(_, last)| same(last, &there)))
        {
            Some(stretch) => stretch.seen.push((place, there)),
            None => found.push(Stretch { seen: vec![(place, there)] }),
        }
    }
    Ok(found)
}

/// Where a function with one hump between two places is highest, by taking a third off the lower side. About its top a smooth
/// function is flat, so the place is known to half the digits of a number and the height to all of them.
pub fn highest<E>(
    mut low: f64,
    mut high: f64,
    mut function: impl FnMut(f64) -> Result<f64, E>,
) -> Result<f64, E> {
    for _ in 0..THIRDS {
        let third = (high - low) / 3.0;
        if function(low + third)? < function(high - third)? {
            low += third;
        } else {
            high -= third;
        }
    }
    Ok(f64::midpoint(low, high))
}

/// Where a function, given with its slope, passes nought between a place where it is positive and one where it is negative:
/// Newton's step from `start` as long as it stays between the two, halving where it does not.
pub fn zero(
    mut positive: f64,
    mut negative: f64,
    start: f64,
    mut function: impl FnMut(f64) -> (f64, f64),
) -> f64 {
    let mut at = start;
    for _ in 0..STEPS {
        let (value, slope) = function(at);
        if value > 0.0 {
            positive = at;
        } else {
            negative = at;
        }
        let newton = at - value / slope;
        let inside = (positive.min(negative)..=positive.max(negative)).contains(&newton);
        let next = if inside { newton } else { f64::midpoint(positive, negative) };
        if (next - at).abs() <= 1e-15 * at.abs() {
            return next;
        }
        at = next;
    }
    at
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;
    use std::convert::Infallible;

    use super::{HALVINGS, Stretch, Turn, highest, stretches, try_turn, turn, zero};

    fn near(got: f64, wanted: f64, within: f64) {
        assert!((got - wanted).abs() <= within, "{got} is not {wanted}");
    }

    #[test]
    fn a_turn_is_found_to_the_last_digit_in_either_direction() {
        let root = turn(0.0, 2.0, |x| x * x < 2.0);
        near(root.middle(), std::f64::consts::SQRT_2, 4e-16);
        assert!(root.holds <= root.fails);
        let falling = turn(2.0, 0.0, |x| x * x > 2.0);
        near(falling.middle(), std::f64::consts::SQRT_2, 4e-16);
        assert!(falling.holds >= falling.fails);
        // A jump is a turn too.
        near(turn(-1.0, 8.0, |x| x < 3.25).middle(), 3.25, 1e-15);
    }

    #[test]
    fn a_condition_that_does_not_turn_ends_at_its_wrong_end() {
        near(turn(0.0, 1.0, |_| true).middle(), 1.0, 1e-15);
        near(turn(0.0, 1.0, |_| false).middle(), 0.0, 1e-15);
    }

    #[test]
    fn no_search_runs_on() {
        let asked = Cell::new(0);
        let lost = turn(0.0, f64::NAN, |x| {
            asked.set(asked.get() + 1);
            x < 1.0
        });
        assert!(lost.middle().is_nan());
        assert_eq!(asked.get(), HALVINGS);
        assert!(zero(1.0, -1.0, 0.5, |_| (f64::NAN, f64::NAN)).is_finite());
    }

    #[test]
    fn the_first_error_ends_a_search() {
        let asked = Cell::new(0);
        let found: Result<Turn, &str> = try_turn(0.0, 1.0, |x| {
            asked.set(asked.get() + 1);
            if x > 0.7 { Err("too far") } else { Ok(true) }
        });
        assert_eq!((found, asked.get()), (Err("too far"), 2));
        assert_eq!(highest(0.0, 1.0, |_| Err("no height")), Err("no height"));
    }

    #[test]
    fn the_top_of_a_hump_is_found_wherever_it_lies() {
        let top = |at: f64| highest::<()>(0.0, 10.0, |x| Ok(-(x - at) * (x - at))).expect("a height");
        for at in [0.0, 0.1, 5.0, 9.9, 10.0] {
            near(top(at), at, 1e-7);
        }
        // The sine's hump, whose place is a right angle.
        let right = highest::<()>(0.0, 180.0, |deg| Ok(f64::sin(deg.to_radians()))).expect("a height");
        near(right, 90.0, 1e-5);
    }

    #[test]
    fn a_zero_is_found_where_newtons_step_leaves_the_interval() {
        // From 3 Newton's step on the arc tangent leaps ever further away.
        near(zero(5.0, -4.0, 3.0, |x| (f64::atan(x), 1.0 / (1.0 + x * x))), 0.0, 1e-15);
        let cube = |x: f64| (x * x * x - 2.0, 3.0 * x * x);
        near(zero(2.0, 1.0, 1.5, cube), 2.0_f64.cbrt(), 4e-16);
    }

    #[test]
    fn stretches_meet_where_something_turns_and_hold_every_place_that_was_looked_at() {
        let asked = Cell::new(0);
        let floor = |x: f64| {
            asked.set(asked.get() + 1);
            Ok::<_, Infallible>((x * 3.0).floor())
        };
        let Ok(found) = stretches((0.0, 1.1), (0.25, 1e-9), |one, other| nearly(*one, *other), floor);
        let ends: Vec<(f64, f64)> = found.iter().filter_map(Stretch::ends).collect();
        assert_eq!(found.iter().map(|one| one.seen[0].1).collect::<Vec<_>>(), [0.0, 1.0, 2.0, 3.0]);
        near(ends[0].0, 0.0, 0.0);
        near(ends[3].1, 1.1, 0.0);
        for (number, pair) in (1_u8..).zip(ends.windows(2)) {
            assert!(pair[1].0 - pair[0].1 <= 1e-9, "{pair:?}");
            near(pair[0].1, f64::from(number) / 3.0, 1e-9);
        }
        assert_eq!(found.iter().map(|one| one.seen.len()).sum::<usize>(), asked.get());
        assert!(asked.get() < 100, "{}", asked.get());
    }

    #[test]
    fn a_stretch_narrower_than_a_step_is_found_between_two_that_differ() {
        let look = |x: f64| Ok::<_, Infallible>(u8::from(x > 0.41) + u8::from(x > 0.42));
        let Ok(found) = stretches((0.0, 1.0), (0.5, 1e-6), PartialEq::eq, look);
        assert_eq!(found.iter().map(|one| one.seen[0].1).collect::<Vec<_>>(), [0, 1, 2]);
        let failed =
            stretches((0.0, 1.0), (0.5, 1e-6), PartialEq::eq, |x: f64| if x > 0.4 { Err(x) } else { Ok(0) });
        assert!(failed.is_err());
    }

    fn nearly(one: f64, other: f64) -> bool {
        (one - other).abs() < 0.5
    }
}
