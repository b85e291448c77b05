//! Chance with a seed: the same seed brings the same season.

/// A source of chances that repeats.
pub(crate) struct Chance(fastrand::Rng);

impl Chance {
    /// Of a seed; `stream` keeps what is drawn for one thing apart from what is drawn for another, so that a new draw in
    /// one leaves the other as it was.
    pub(crate) fn new(seed: u64, stream: u64) -> Self {
        Self(fastrand::Rng::with_seed(seed.wrapping_mul(1_000_003).wrapping_add(stream)))
    }

    /// Evenly between two values.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.f64()
    }

    /// A draw of the standard normal distribution (Box and Muller).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.0.f64()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.0.f64()).cos()
    }

    /// A draw of Student's t with three degrees of freedom: one in fourteen is beyond 3, where the normal has one in 370.
    pub(crate) fn heavy(&mut self) -> f64 {
        let squares: f64 = (0..3).map(|_| self.normal().powi(2)).sum();
        self.normal() / (squares / 3.0).sqrt()
    }

    /// Something that happens in this share of cases.
    pub(crate) fn happens(&mut self, share: f64) -> bool {
        self.0.f64() < share
    }

    /// One of the two signs.
    pub(crate) fn sign(&mut self) -> f64 {
        if self.0.bool() { 1.0 } else { -1.0 }
    }

    /// One of `0..count`.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        self.0.usize(0..count)
    }
}
