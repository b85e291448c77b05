//! The main jet where the needle is not known.
//!
//! The simple rule takes it as alone. Where more fuel is wanted, the needle's annulus takes a part of what a larger main jet
//! brings, so the rule goes one size further up (common practice, no source), unless the size it takes already brings the factor
//! twice over: main jet and annulus in series want no more as long as the annulus at full lift is no smaller than the main
//! jet (by the series rule of [`crate::engine::carburetor::circuits`], d ln main / d ln fuel = 1 + (main / annulus)²).
//!
//! What a main jet then delivers is reckoned with a usual annulus: its area must move 1.3 times as far as the fuel (common
//! practice, no source; 1.1 to 1.6 on most carburetors). The advised size is never leaner than wanted by that reckoning
//! either.

use super::alone::fuel_of_main_alone;
use super::main_jet::{Main, PowerBeside, leanest};
use crate::advice::rejet::asked::JetsAsked;
use crate::advice::rejet::error::RejetError;
use crate::advice::rejet::needle::search::not_below;
use crate::advice::rejet::wanted::FULL;
use crate::quantity::trimmed;

/// What a main jet delivers over the baseline's at full throttle.
pub(in crate::advice::rejet) fn delivered(main: &Main<'_>, size: f64, power: PowerBeside) -> Option<f64> {
    let area = main.jet.numbering().area_factor(main.jet.number, size).ok()?;
    Some(leanest(fuel_of_main_alone(area), power))
}

/// The size to fit; none where no size is rich enough.
pub(in crate::advice::rejet) fn choose(
    main: &Main<'_>,
    asked: &JetsAsked<'_>,
    power: PowerBeside,
    warnings: &mut Vec<String>,
) -> Result<Option<f64>, RejetError> {
    let least = asked.wanted[FULL].least;
    let mut allowed = main.jets.sizes().iter().copied().filter(|size| asked.may_be(*size));
    let enough =
        allowed.clone().find(|size| delivered(main, *size, power).is_some_and(|d| not_below(d, least)));
    if asked.by_record {
        return Ok(enough);
    }
    let (Ok(exact), true) = (&main.exact, main.jets.are_listed()) else {
        return Ok(None);
    };
    let Some(simple) = exact.advised else {
        return Ok(None);
    };
    if !main.wants_more() {
        return Ok(allowed.find(|size| *size >= simple));
    }
    let area = main.jet.numbering().area_factor(main.jet.number, simple);
    let brings = area.map_err(RejetError::calculation(main.jet.field))?;
    if brings >= main.needed * main.needed {
        warnings.push(format!(
            "By how much the main jet {} is rich cannot be said without the needle.",
            trimmed(simple, 2)
        ));
        return Ok(allowed.find(|size| *size >= simple));
    }
    let further = main.jets.beside(simple, 1);
    let none_beyond = further.is_none() || enough.is_none();
    let chosen = further.into_iter().chain(enough).fold(simple, f64::max);
    warnings.push(words(main, simple, chosen, none_beyond));
    Ok(allowed.find(|size| *size >= chosen))
}

fn words(main: &Main<'_>, simple: f64, chosen: f64, none_beyond: bool) -> String {
    let (shown, from) = (trimmed(chosen, 2), trimmed(simple, 2));
    if none_beyond {
        return format!(
            "Main jet {shown} may be lean: one size further up than the simple rule says would be safe, and the box has none."
        );
    }
    let sizes = match main.jets.sizes_between(simple, chosen) {
        Some(1) | None => "one size".to_owned(),
        Some(several) => format!("{several} sizes"),
    };
    format!(
        "Main jet {shown} is {sizes} further up than the simple rule says ({from}), because that leans where more fuel is wanted. Whether it is rich cannot be said without the needle."
    )
}
