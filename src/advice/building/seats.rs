//! The bearings of a build cold and warm: from what was measured to what the case does as it runs.

use super::gauged::{Gauged, Role};
use crate::advice::fit::seat::{BenchSeats, MeasuredSeats, bench_seats};
use crate::engine::EngineError;
use crate::engine::fits::Material;
use crate::notebook::{Build, Limits};
use crate::quantity::Length;

/// Each bearing whose case or shaft was measured with it, by its name.
pub fn warm_seats(build: &Build, limits: &Limits) -> Result<Vec<(String, BenchSeats)>, EngineError> {
    let gauged = Gauged { build, limits };
    let mut found = Vec::new();
    for (name, seat) in &build.seats {
        let size = |role, inner: &str, typed: &Option<Length>, material| {
            let field = format!("seats.{name}.{inner}");
            let at_20 = typed.as_ref().map(|typed| gauged.size(role, &field, typed, material)).transpose()?;
            Ok::<_, EngineError>(at_20.map(|size| size.value()))
        };
        let measured = MeasuredSeats {
            case_bore_m: size(Role::Inside, "case_bore", &seat.case_bore, gauged.case())?,
            bearing_outside_m: size(
                Role::Outside,
                "bearing_outside",
                &seat.bearing_outside,
                Material::Steel,
            )?,
            bearing_bore_m: size(Role::Inside, "bearing_bore", &seat.bearing_bore, Material::Steel)?,
            shaft_m: size(Role::Outside, "shaft", &seat.shaft, Material::Steel)?,
            case: gauged.case(),
            case_c: None,
            shaft_c: None,
        };
        let seats = bench_seats(&measured)?;
        if seats.in_case.is_some() || seats.on_shaft.is_some() {
            found.push((name.clone(), seats));
        }
    }
    Ok(found)
}
