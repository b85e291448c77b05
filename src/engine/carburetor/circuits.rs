//! The circuits of a carburetor together: main jet and needle jet annulus in series, other jets beside them.
//!
//! Two orifices in series pass what one of area A would: 1/A^2 = 1/(Cm Am)^2 + 1/(Ca Aa)^2 (textbook, from memory: the
//! pressure differences add and each goes as the square of the flow). The annulus stays when only the main jet is changed, so the main jet
//! must move further than the factor on the whole. Areas here are in multiples of the main jet's discharge coefficient Cm.
//! The ratio Ca/Cm is unproven: 1 unless someone has measured it.

use crate::engine::{Allowed, EngineError, FACTOR};

const MAIN_AREA: Allowed = Allowed {
    field: "main jet area",
    unit: "m2",
    low: 1e-9,
    high: 1e-3,
    help: "A jet of 1.5 mm bore has 1.77e-6 m2.",
};

const ANNULUS_AREA: Allowed = Allowed {
    field: "needle jet annulus",
    unit: "m2",
    low: 1e-10,
    high: 1e-3,
    help: "Give the area between needle jet and needle; a few square millimetres, 1e-6 m2, at full lift.",
};

const COEFFICIENT_RATIO: Allowed = Allowed {
    field: "discharge coefficient of the annulus over the main jet's",
    unit: "",
    low: 0.2,
    high: 5.0,
    help: "Leave it at 1 unless it was measured.",
};

const PARALLEL_AREA: Allowed = Allowed {
    field: "area of the jets beside the main circuit",
    unit: "m2",
    low: 0.0,
    high: 1e-3,
    help: "Give the area of the power jet, 0 for none.",
};

pub(in crate::engine) const LIFT_FRACTION: Allowed = Allowed {
    field: "slide lift as a fraction of full",
    unit: "",
    low: 0.0,
    high: 1.0,
    help: "Give 0 for closed, 1 for wide open.",
};

const PILOT_SHARE: Allowed = Allowed {
    field: "share of the fuel from the pilot",
    unit: "",
    low: 0.0,
    high: 1.0,
    help: "Give it as a fraction of all the fuel.",
};

/// The way of the fuel: main jet and annulus in series, and jets that feed beside them and stay as they are (a power jet).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FuelPath {
    main_area_m2: f64,
    annulus_area_m2: f64,
    annulus_over_main: f64,
    parallel_area_m2: f64,
}

impl FuelPath {
    /// A path without parallel jets. Areas in m2; `annulus_over_main` is the ratio of discharge coefficients Ca/Cm, 1 unless measured.
    pub fn new(main_area_m2: f64, annulus_area_m2: f64, annulus_over_main: f64) -> Result<Self, EngineError> {
        Ok(Self {
            main_area_m2: MAIN_AREA.check(main_area_m2)?,
            annulus_area_m2: ANNULUS_AREA.check(annulus_area_m2)?,
            annulus_over_main: COEFFICIENT_RATIO.check(annulus_over_main)?,
            parallel_area_m2: 0.0,
        })
    }

    /// The same path with jets beside it, m2: a power jet while it feeds. They see the same depression as the main circuit.
    pub fn with_parallel(self, parallel_area_m2: f64) -> Result<Self, EngineError> {
        Ok(Self { parallel_area_m2: PARALLEL_AREA.check(parallel_area_m2)?, ..self })
    }

    /// Area of the main jet, m2.
    pub fn main_area_m2(&self) -> f64 {
        self.main_area_m2
    }

    /// The square of main jet over annulus, each with its coefficient: how hard the annulus throttles the main jet.
    fn restriction(&self) -> f64 {
        (self.main_area_m2 / (self.annulus_over_main * self.annulus_area_m2)).powi(2)
    }

    /// Effective area of main jet and annulus in series, m2, smaller than either.
    pub fn series_area_m2(&self) -> f64 {
        self.main_area_m2 / (1.0 + self.restriction()).sqrt()
    }

    /// Effective area of everything that feeds, m2.
    pub fn effective_area_m2(&self) -> f64 {
        self.series_area_m2() + self.parallel_area_m2
    }

    /// How many percent the main jet's area must move for one percent of all the fuel, near where it is: never below 1.
    pub fn main_exponent(&self) -> f64 {
        (1.0 + self.restriction()) * self.effective_area_m2() / self.series_area_m2()
    }

    /// The main jet area, m2, that makes the effective area `factor` times what it is, everything else staying.
    ///
    /// Not possible where the annulus alone would pass no more than that, or where the parallel jets already pass it all.
    pub fn shift_main(&self, factor: f64) -> Result<f64, EngineError> {
        let factor = FACTOR.check(factor)?;
        let series = self.series_area_m2();
        // Written so that a factor of 1 leaves the jet exactly as it is.
        let main_factor = 1.0 + (factor - 1.0) * self.effective_area_m2() / series;
        if main_factor <= 0.0 {
            return Err(EngineError::ParallelJetsTooLarge {
                parallel_m2: self.parallel_area_m2,
                needed_m2: factor * self.effective_area_m2(),
            });
        }
        let restriction = self.restriction();
        let left_by_annulus = 1.0 + restriction * (1.0 - main_factor * main_factor);
        if left_by_annulus <= 0.0 {
            return Err(EngineError::MainJetCannotReach {
                needed: main_factor,
                limit: (1.0 + 1.0 / restriction).sqrt(),
            });
        }
        Ok(self.main_area_m2 * main_factor / left_by_annulus.sqrt())
    }
}

/// Share of all the fuel that the pilot brings at a lift, from a table of (lift as a fraction of full, share).
///
/// Straight between the rows, held at both ends. Such tables are common practice, not theory.
pub fn pilot_share(lift_fraction: f64, table: &[(f64, f64)]) -> Result<f64, EngineError> {
    let lift = LIFT_FRACTION.check(lift_fraction)?;
    let Some(&(first_lift, first_share)) = table.first() else {
        return Err(EngineError::TooFew {
            field: "pilot share table",
            found: 0,
            needed: 1,
            help: "Give a share for one lift at least.",
        });
    };
    LIFT_FRACTION.check(first_lift)?;
    let mut before = (first_lift, PILOT_SHARE.check(first_share)?);
    let mut share = before.1;
    // The whole table is read even after the lift was found, so that a bad row never depends on the lift asked for.
    for (index, &(row_lift, row_share)) in table.iter().enumerate().skip(1) {
        let row = (LIFT_FRACTION.check(row_lift)?, PILOT_SHARE.check(row_share)?);
        if row.0 <= before.0 {
            return Err(EngineError::NotAscending {
                field: "pilot share table",
                entry: index + 1,
                found: row.0,
                before: before.0,
                unit: "",
                help: "List the lifts from closed to open, each once.",
            });
        }
        if lift > before.0 {
            let along = ((lift - before.0) / (row.0 - before.0)).min(1.0);
            share = before.1 + along * (row.1 - before.1);
        }
        before = row;
    }
    Ok(share)
}

/// The factor left for the main circuit when all the fuel must change by `factor`, the pilot brings `pilot_share` of it now
/// and is itself changed by `pilot_factor` (1 when left alone).
pub fn main_circuit_factor(factor: f64, pilot_share: f64, pilot_factor: f64) -> Result<f64, EngineError> {
    let factor = FACTOR.check(factor)?;
    let share = PILOT_SHARE.check(pilot_share)?;
    let pilot = FACTOR.check(pilot_factor)?;
    // Written so that nothing to change gives exactly 1.
    let main = 1.0 + ((factor - 1.0) - share * (pilot - 1.0)) / (1.0 - share);
    Allowed {
        field: "factor left for the main circuit",
        help: "At this lift the pilot decides: change the pilot jet or its screw.",
        ..FACTOR
    }
    .check(main)
}
