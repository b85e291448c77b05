//! Needle ring and main jet by slide lift: what meters the fuel at each throttle.

use super::needle_path::{NeedlePath, Unfit};
use crate::advice::figures::known::{Gap, Known, wrong};
use crate::advice::rejet::jet::in_bike::JetInBike;
use crate::advice::rejet::jet::jets::Jets;
use crate::engine::EngineError;
use crate::engine::carburetor::needle::NeedleSetting;
use crate::notebook::{Circuit, JetBox, Jetting, NeedleBox, Shares};

/// One slide lift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeedleRow {
    /// Slide lift as a fraction of the bore.
    pub lift: f64,
    /// Area of the ring between needle and needle jet, m2.
    pub annulus_m2: f64,
    /// Area of the main jet, m2.
    pub main_m2: f64,
    /// Area that both in series are worth, m2.
    pub series_m2: f64,
    /// By how much the whole moves with the main jet: 1 when the jet alone decides, 0 when the ring does.
    pub main_share: f64,
}

/// Slide lifts of the table.
const LIFTS: [f64; 8] = [0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0];

/// The table of a carburetor, or what it lacks.
pub fn needle_table(
    jetting: &Jetting,
    boxes: &JetBox,
    needles: &NeedleBox,
    shares: &Shares,
) -> Known<Vec<NeedleRow>> {
    let main = JetInBike::read(
        Circuit::Main,
        jetting.main.as_ref(),
        jetting.main_numbered_by,
        jetting.main_series.as_ref(),
    );
    let Some(jet) = main.map_err(|error| not_known(&error))? else {
        return Err(Gap::needs("jetting.main"));
    };
    // The table asks nothing of the box, so what there is to say about it is said where a jet is advised.
    let jets = Jets::at_hand(jet, boxes, &[], &mut Vec::new()).map_err(|error| not_known(&error))?;
    let path = NeedlePath::read(jetting, needles, shares, &jets).map_err(|unfit| match unfit {
        Unfit::Wrong(error) => wrong("jetting")(error),
        Unfit::Missing(missing) => not_known(&missing),
    })?;
    let row = |lift: f64| -> Result<NeedleRow, EngineError> {
        let setting = NeedleSetting { lift_m: path.full_lift.lift_m * lift, ..path.full_lift };
        let number = jets.number();
        let annulus_m2 = path.needle.annulus_area_m2(setting)?;
        let whole = path.at(setting, number)?;
        let main_m2 = path.main_area_m2(number)?;
        let series_m2 = whole.series_area_m2();
        Ok(NeedleRow { lift, annulus_m2, main_m2, series_m2, main_share: (series_m2 / main_m2).powi(2) })
    };
    LIFTS.into_iter().map(row).collect::<Result<_, _>>().map_err(wrong("jetting"))
}

/// A table that cannot be made, with the reason as the rejetting words it.
fn not_known(reason: &impl std::fmt::Display) -> Gap {
    Gap::Without(format!("not known: {reason}"))
}
