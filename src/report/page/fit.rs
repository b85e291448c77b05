//! How large the letters of a sheet are in print: as large as leaves it on its page, and no smaller than can be read.

/// Paper as it is printed on, between its margins, mm: what fits on A4 and on Letter, and A5.
const LARGE: (f64, f64) = (194.0, 258.0);
const SMALL: (f64, f64) = (136.0, 188.0);
/// The largest letters and the smallest, points: type under 6 points is not read at a bench (common practice, no source).
const MOST_PT: f64 = 9.4;
const LEAST_PT: f64 = 6.0;
const STEP_PT: f64 = 0.2;
/// A point, the seventy-second part of an inch, in mm.
const POINT: f64 = 0.352_778;
/// Width of a letter and height of a line, as shares of the letters' size: of a sans that is wider than most.
const LETTER: f64 = 0.55;
const LINE: f64 = 1.2;

/// The room on a page.
#[derive(Debug, Clone, Copy)]
pub(super) struct Room {
    /// Across, mm.
    pub(super) across: f64,
    /// Downwards, mm.
    down: f64,
}

/// How a sheet fits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit {
    /// Size of its letters, points.
    pub(super) letters_pt: f64,
    /// Whether its second half begins a page.
    pub(super) is_two_pages: bool,
}

impl Room {
    pub(super) fn of(small: bool) -> Self {
        let (across, down) = if small { SMALL } else { LARGE };
        Self { across, down }
    }

    /// The largest letters with which both halves stand on one page, else each on a page of its own; `heights` are those of the halves in
    /// mm with letters of so many points.
    pub(super) fn fit(self, heights: impl Fn(f64) -> [f64; 2]) -> Fit {
        let mut sizes = Vec::new();
        let mut letters_pt = MOST_PT;
        while letters_pt >= LEAST_PT - 1e-9 {
            sizes.push(letters_pt);
            letters_pt -= STEP_PT;
        }
        let largest =
            |fits: &dyn Fn([f64; 2]) -> bool| sizes.iter().copied().find(|size| fits(heights(*size)));
        let on_one = largest(&|[first, second]| first + second <= self.down);
        let on_two = || largest(&|halves| halves.iter().all(|half| *half <= self.down));
        match on_one {
            Some(letters_pt) => Fit { letters_pt, is_two_pages: false },
            None => Fit { letters_pt: on_two().unwrap_or(LEAST_PT), is_two_pages: true },
        }
    }
}

/// Lines that so many letters take in so much width, mm, and letters of so many points.
pub(super) fn lines(letters: usize, across: f64, size_pt: f64) -> f64 {
    share(letters, across, size_pt).ceil().max(1.0)
}

/// The same of what runs on in a line that it shares.
pub(super) fn share(letters: usize, across: f64, size_pt: f64) -> f64 {
    f64::from(u32::try_from(letters).unwrap_or(u32::MAX)) * LETTER * POINT * size_pt / across
}

/// Height of a line of letters of so many points, mm.
pub(super) fn line_mm(size_pt: f64) -> f64 {
    LINE * POINT * size_pt
}

#[cfg(test)]
mod tests {
    use super::{LEAST_PT, MOST_PT, Room, line_mm, lines};

    #[test]
    fn a_short_sheet_has_large_letters_a_long_one_small_and_a_longer_one_two_pages() {
        let of = |long: usize| {
            Room::of(true)
                .fit(|size| [0.4, 0.6].map(|share| share * lines(long, 136.0, size) * line_mm(size)))
        };
        assert!((of(2_000).letters_pt - MOST_PT).abs() < 1e-9 && !of(2_000).is_two_pages);
        let long = of(8_000);
        assert!(long.letters_pt < MOST_PT && long.letters_pt > LEAST_PT && !long.is_two_pages);
        let longer = of(12_000);
        assert!(longer.is_two_pages && longer.letters_pt > LEAST_PT);
        assert!((of(90_000).letters_pt - LEAST_PT).abs() < 1e-9, "never smaller than can be read");
    }
}
