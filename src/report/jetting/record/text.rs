//! What the bike's own record says, for a person: the chances of each size first, then who spoke, then the numbers.

use super::super::{first, words};
use super::{NextRun, RecordAnswer, SizeOdds, percent, percent_trimmed};
use crate::advice::learning::verdicts::Judged;
use crate::advice::learning::{
    Evidence, HARDLY_OVER, LearnedAnswer, VERDICTS_TO_RULE, Witness, ZoneAnswer, percent_beside,
};
use crate::notebook::fields::names::visible;
use crate::quantity::{fixed, nearly_equal, trimmed};
use crate::report::out::frame::FrameTable;
use crate::report::out::frame::room::Room;
use crate::report::out::screen::Screen;
use crate::report::out::width;
use crate::report::words::layout::{NARROW, capital, count, signed, table};
use crate::store::OutingRecord;

/// A run that leaves more than this part of the doubt is not worth a jet (common practice, no source).
const TELLS_LITTLE: f64 = 0.9;

/// Fuel, and air, that differ by less than this are the same to a tuner, ln (common practice, no source).
const SAME_FUEL: f64 = 0.01;

/// Sizes shown from the one below where the advice leads.
const BESIDE: usize = 4;

/// Outings named where the whole list was not asked for.
const NAMED: usize = 4;

/// What the chances beside a size are of.
pub(in crate::report) const OF_WHAT: &str = "chances in 100 at full throttle";

/// What is in the bike and is not changed.
const IN_IT_STAYS: &str = "in it, stays";

/// Over the limit of lean, where two tables stand beside each other.
const OVER: &str = "over";

/// Blanks at least between two tables that stand beside each other.
const BETWEEN: usize = 2;

/// What a size is whose chance of lean is over the limit.
fn over_the_limit(limit: f64) -> String {
    format!("over the limit of {}", percent_trimmed(limit))
}

/// The chances on a narrow screen: figures in their columns, and what a size is behind them, in as many lines as it takes.
fn chances_in_columns(head: &str, rows: &[Vec<String>], width: usize) -> String {
    let wide = rows.iter().filter_map(|row| row.first()).map(|size| width::of(size));
    let wide = wide.chain([width::of(head)]).max().unwrap_or(0);
    let line = |cells: &[&str]| match cells {
        [size, lean, right, rich, ..] => {
            format!(
                "{}{size} {lean:>4} {right:>5} {rich:>4}",
                " ".repeat(wide.saturating_sub(width::of(size)))
            )
        }
        _ => String::new(),
    };
    let mut lines = vec![line(&[head, "lean", "right", "rich"])];
    for row in rows {
        let cells: Vec<&str> = row.iter().map(String::as_str).collect();
        let figures = line(&cells);
        let begins = width::of(&figures) + 2;
        let what = cells.get(4).copied().unwrap_or_default();
        let what = textwrap::wrap(what, width.saturating_sub(begins).max(8));
        let mut what = what.iter();
        let first = what.next().map(|part| format!("{figures}  {part}"));
        lines.push(first.unwrap_or(figures).trim_end().to_owned());
        lines.extend(what.map(|part| format!("{}{part}", " ".repeat(begins))));
    }
    lines.join("\n")
}

/// A chance in a column of chances in 100.
fn bare(chance: f64) -> String {
    percent(chance).trim_end_matches(" %").to_owned()
}

/// The sizes that are looked at in an answer; none where they are not written down.
#[derive(Debug, Clone, Copy)]
pub(in crate::report::jetting) struct LookedAt {
    /// What is recorded.
    pub(in crate::report::jetting) recorded: Option<f64>,
    /// What is in the bike by its jobs.
    pub(in crate::report::jetting) in_it: Option<f64>,
    /// What is fitted next.
    pub(in crate::report::jetting) fit: Option<f64>,
}

/// The chances at several cylinders, two beside each other; none where two have no room.
pub(in crate::report::jetting) fn side_by_side(
    each: &[(&str, &RecordAnswer<'_>, LookedAt)],
    screen: &Screen,
    room: Room,
) -> Option<String> {
    let mut lines = Vec::new();
    let mut limit = None;
    for pair in each.chunks(2) {
        let mut blocks = Vec::new();
        for (name, record, looked_at) in pair {
            let rows = record.chance_rows(*looked_at, room)?;
            let block = record.narrow_block(name, &rows);
            if block.iter().any(|line| line.trim_end().ends_with(OVER)) {
                limit = record.lean_risk_limit.map(|limit| limit.0).or(limit);
            }
            blocks.push(block);
        }
        let half = screen.width().div_ceil(2);
        let first = blocks.first().and_then(|block| block.first()).map_or(0, |line| width::of(line));
        let other = blocks.get(1).and_then(|block| block.first()).map_or(0, |line| width::of(line));
        let begins = if first + BETWEEN <= half { half } else { first + BETWEEN };
        if begins + other > screen.width() {
            return None;
        }
        for at in 0..blocks.iter().map(Vec::len).max().unwrap_or(0) {
            let of =
                |block: usize| blocks.get(block).and_then(|block| block.get(at)).map_or("", String::as_str);
            lines.push(format!("{}{}", width::padded(of(0), begins), of(1)).trim_end().to_owned());
        }
    }
    let over =
        limit.map(|limit| format!("; {OVER}: past the limit of {} lean", bare(limit))).unwrap_or_default();
    lines.insert(0, format!("{OF_WHAT}{over}"));
    Some(lines.join("\n"))
}

/// A size that is worth looking at.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::report) struct ChanceRow {
    /// The size, in words.
    pub(in crate::report) size: String,
    /// Its chances of lean, right and rich at full throttle, 0 to 1.
    pub(in crate::report) chances: [f64; 3],
    /// What it is to the answer; empty where nothing.
    pub(in crate::report) what: String,
    /// Whether it is what is fitted next, or stays.
    pub(in crate::report) is_fitted: bool,
}

impl RecordAnswer<'_> {
    /// The risk in the line that a mechanic reads first: "lean risk 3 % (limit 5 %)".
    pub(in crate::report::jetting) fn risk(&self) -> Option<String> {
        let (risk, limit) = (self.lean_risk?, self.lean_risk_limit?);
        Some(format!("lean risk {} (limit {})", percent_beside(risk.0, limit.0, 0), percent_trimmed(limit.0)))
    }

    /// Whether runs of the bike speak at full throttle.
    pub(in crate::report::jetting) fn has_own_runs(&self) -> bool {
        self.told.learned.is_some_and(|learned| learned.zones.iter().any(|zone| zone.zone == "full"))
    }

    /// Whose word it is, in a sentence.
    pub(in crate::report::jetting) fn whose(&self) -> String {
        if !self.has_own_runs() {
            return "Theory alone: the risk of lean is not known, so start at least one size richer."
                .to_owned();
        }
        format!("Own runs weigh {}.", percent(self.evidence.weight_of_record.0))
    }

    /// The chances of the sizes that are worth looking at, the richest first: what is in the bike, what is fitted, where it leads, and one
    /// beyond. `cylinder` is whose they are where there are several; `of` is what [`RecordAnswer::chance_rows`] takes.
    pub(in crate::report::jetting) fn chances(
        &self,
        cylinder: Option<&str>,
        (of, room): (LookedAt, Room),
        screen: &Screen,
    ) -> Option<FrameTable> {
        let chances = self.chance_rows(of, room)?;
        let marked = chances.iter().position(|row| row.is_fitted);
        let row = |row: ChanceRow| {
            let [lean, right, rich] = row.chances.map(bare);
            vec![row.size, lean, right, rich, row.what]
        };
        let rows: Vec<Vec<String>> = chances.into_iter().map(row).collect();
        let sized = self.sized();
        let head = cylinder.map_or_else(|| sized.to_owned(), |name| format!("{} {sized}", visible(name)));
        let of_what = if cylinder.is_some() { OF_WHAT.trim_start_matches("chances ") } else { OF_WHAT };
        let right = [0, 1, 2, 3];
        // On a narrow screen the heading stands above them, and what a size is goes on under itself.
        let text = if screen.width() < NARROW {
            let text = chances_in_columns(&head, &rows, screen.width());
            format!("{}\n{text}", screen.wrap(OF_WHAT, 2))
        } else {
            table(&[&head, "lean", "right", "rich", of_what], rows.clone(), &right, screen.width())
        };
        let caption = format!("{head}: {OF_WHAT}");
        let head = [&head, "lean", "right", "rich", ""].map(str::to_owned).to_vec();
        Some(FrameTable { caption, head, rows, right: right.to_vec(), marked, text })
    }

    /// The chances at one of several cylinders that stand beside each other: short, so that two have room on a screen. Each line is as wide
    /// as the widest.
    fn narrow_block(&self, cylinder: &str, rows: &[ChanceRow]) -> Vec<String> {
        let head = format!("{} {}", visible(cylinder), self.sized());
        let wide = rows.iter().map(|row| width::of(&row.size)).chain([width::of(&head)]).max().unwrap_or(0);
        let limit = self.lean_risk_limit.map_or(1.0, |limit| limit.0);
        let line = |size: &str, [lean, right, rich]: [&str; 3], what: &str| {
            let before = " ".repeat(wide.saturating_sub(width::of(size)));
            format!("{before}{size} {lean:>4} {right:>5} {rich:>4}  {what}").trim_end().to_owned()
        };
        let of_row = |row: &ChanceRow| {
            let [lean, right, rich] = row.chances.map(bare);
            let what = row.what.replace(&over_the_limit(limit), OVER);
            line(&row.size, [&lean, &right, &rich], &what)
        };
        let lines: Vec<String> =
            [line(&head, ["lean", "right", "rich"], "")].into_iter().chain(rows.iter().map(of_row)).collect();
        let widest = lines.iter().map(|line| width::of(line)).max().unwrap_or(0);
        lines.iter().map(|line| width::padded(line, widest)).collect()
    }

    /// What the sizes are of.
    pub(in crate::report::jetting) fn sized(&self) -> &'static str {
        if self.told.injected { "trim" } else { "main" }
    }

    /// The same, row by row; with the least room only the sizes of which something is to be said.
    pub(in crate::report::jetting) fn chance_rows(
        &self,
        LookedAt { recorded, in_it, fit }: LookedAt,
        room: Room,
    ) -> Option<Vec<ChanceRow>> {
        let is =
            |size: &SizeOdds, other: Option<f64>| other.is_some_and(|other| nearly_equal(size.size, other));
        let leads = self.sizes.iter().position(|size| size.advised)?;
        let first = leads.saturating_sub(1);
        let limit = self.lean_risk_limit.map_or(1.0, |limit| limit.0);
        let looked_at = |size: &SizeOdds| [recorded, in_it, fit].into_iter().any(|other| is(size, other));
        let far_below = self.sizes.iter().take(first).filter(|size| looked_at(size));
        let mut shown: Vec<&SizeOdds> = far_below.chain(self.sizes.iter().skip(first).take(BESIDE)).collect();
        let rest = self.sizes.iter().skip(first + BESIDE);
        shown.extend(rest.filter(|size| looked_at(size)));
        // Of what a lean run forbids the record says nothing that still holds.
        shown.retain(|size| !size.held || size.advised);
        let rows = shown.into_iter().rev().map(|size| {
            let what = match (is(size, in_it), is(size, recorded), is(size, fit)) {
                (true, ..) if size.advised => IN_IT_STAYS,
                (true, ..) => "in it",
                (_, true, _) => "recorded, not yet in it",
                (_, _, true) => "fit",
                _ if size.advised => "then",
                _ => "",
            };
            // Why it stays all the same is said above the table.
            let above = self.told.learned.and_then(|learned| learned.above_limit.as_ref());
            let stays = what == IN_IT_STAYS && above.is_some_and(|above| !above.stop);
            let over = (size.p_lean.0 > limit).then(|| over_the_limit(limit));
            let over = over.map(|over| if stays { format!("though {over} (see above)") } else { over });
            let what = [Some(what.to_owned()).filter(|what| !what.is_empty()), over];
            ChanceRow {
                size: self.size(size.size),
                chances: [size.p_lean.0, size.p_right.0, size.p_rich.0],
                what: what.into_iter().flatten().collect::<Vec<_>>().join(", "),
                is_fitted: is(size, fit) || (is(size, in_it) && size.advised),
            }
        });
        Some(rows.filter(|row| room < Room::Least || !row.what.is_empty()).collect())
    }

    /// What the record would fit, where a lean run at another throttle holds more in it.
    pub(in crate::report::jetting) fn held_elsewhere(&self) -> Option<String> {
        let own = self.by_the_record?;
        let fit = self.sizes.iter().find(|size| size.advised)?.size;
        let right = self.right_size.as_ref();
        let right = right.map(|right| format!(" (right: {})", self.size_in_tenths(right.mean.0)));
        Some(format!(
            "By the record {}{}; that lean run holds it at {} (-v).",
            self.size(own),
            right.unwrap_or_default(),
            self.size(fit)
        ))
    }

    /// The chances of each size.
    pub(in crate::report::jetting) fn size_table(&self, screen: &Screen) -> Option<String> {
        let rows: Vec<_> = self.sizes.iter().map(|size| self.size_row(size)).collect();
        (!rows.is_empty())
            .then(|| table(&[self.sized(), "lean", "right", "rich", ""], rows, &[0, 1, 2, 3], screen.width()))
    }

    fn size_row(&self, size: &SizeOdds) -> Vec<String> {
        vec![
            self.size(size.size),
            percent(size.p_lean.0),
            percent(size.p_right.0),
            percent(size.p_rich.0),
            match (size.advised, size.held) {
                (true, _) => "<- fit".to_owned(),
                (_, true) => "not after a lean run".to_owned(),
                _ => String::new(),
            },
        ]
    }

    /// Who spoke and how much it is worth, as sentences.
    pub(in crate::report::jetting) fn lines(&self) -> Vec<String> {
        let Some(evidence) = self.told.evidence else {
            return vec!["Theory alone, as asked: the bike's outings were not looked at, and the risk of lean is not known. Start at least one size richer.".to_owned()];
        };
        let Some(learned) = self.told.learned else {
            return vec![
                "Theory alone: no judged outing speaks of this jetting, so the risk of lean is not known. Start at least one size richer."
                    .to_owned(),
            ];
        };
        let mut lines = self.at_full_throttle(learned, evidence);
        lines.extend(self.test_run.as_ref().filter(|_| !self.told.is_held).map(|run| self.run_words(run)));
        lines.extend(self.doubts(None));
        lines
    }

    /// What speaks against following the answer blindly: another throttle that stays too lean, outings that contradict each other, a run
    /// that is lean by its notes alone.
    /// Of the run that the answer begins with is said only how its word is answered.
    pub(in crate::report::jetting) fn doubts(&self, begins_with: Option<&OutingRecord>) -> Vec<String> {
        let Some((learned, evidence)) = self.told.learned.zip(self.told.evidence) else {
            return Vec::new();
        };
        let mut lines: Vec<String> =
            learned.zones.iter().filter_map(|zone| self.lean_elsewhere(zone)).collect();
        lines.extend(disagreement(evidence));
        lines.extend(words::lean_by_notes(evidence, begins_with));
        lines
    }

    /// What to say of another zone that stays leaner than the limit.
    fn lean_elsewhere(&self, zone: &ZoneAnswer) -> Option<String> {
        let chances = zone
            .chances
            .filter(|chances| zone.zone != "full" && zone.rules && chances.lean > zone.limit + HARDLY_OVER)?;
        let way_out = if self.told.injected { "; --cells works it into the map by throttle" } else { "" };
        Some(format!(
            "{} is then lean with a chance of {} (limit {}){way_out}.",
            capital(&zone.zone.replace('_', " ")),
            percent_beside(chances.lean, zone.limit, 0),
            percent_trimmed(zone.limit)
        ))
    }

    /// Which run to make next, where one run tells anything.
    fn run_words(&self, run: &NextRun) -> String {
        let doubt = fixed(100.0 * run.doubt.0, 1);
        if run.doubt_after.0 > TELLS_LITTLE * run.doubt.0 {
            return format!("The right fuel is known to ±{doubt} %: no single run would tell much more.");
        }
        format!(
            "One run on {} judged at full throttle would tell most: the right fuel is known to ±{doubt} %, and would be to ±{} %.",
            self.size(run.size),
            fixed(100.0 * run.doubt_after.0, 1)
        )
    }

    fn at_full_throttle(&self, learned: &LearnedAnswer, evidence: &Evidence) -> Vec<String> {
        let Some(full) = learned.zones.iter().find(|zone| zone.zone == "full") else {
            return vec![
                "No outing was judged at full throttle: the main jet is theory's, and its risk of lean is not known."
                    .to_owned(),
            ];
        };
        let theory =
            self.theory_size.map(|size| format!(" Theory alone: {}.", self.size(size))).unwrap_or_default();
        let verb = if full.verdicts == 1 { "counts" } else { "count" };
        let mark = if evidence.mark.is_some() { ", and the proven mark as one more" } else { "" };
        let mut lines = vec![format!(
            "Record {}, theory {}: {} at full throttle {verb} as {}{mark}.{theory}",
            percent(self.evidence.weight_of_record.0),
            percent(1.0 - self.evidence.weight_of_record.0),
            count(full.verdicts, "outing"),
            fixed(full.weight, 1),
        )];
        lines.extend(self.right_size.as_ref().map(|right| {
            format!(
                "Right here: {}, with 90 % between {} and {}.",
                self.size_in_tenths(right.mean.0),
                self.size_in_tenths(right.low.0),
                self.size_in_tenths(right.high.0)
            )
        }));
        lines.extend(full.chances.filter(|chances| chances.rich > 0.5 && !self.told.is_held).map(|chances| {
            format!(
                "It is rich with a chance of {}: the limit of lean asks for that while so little is known, or while the outings disagree.",
                percent(chances.rich)
            )
        }));
        if full.weight < VERDICTS_TO_RULE {
            lines.push("So young a record knows little of how this engine follows other air: that is still theory's.".to_owned());
        }
        lines.extend(first::trust(learned));
        let mut heard: Vec<&Witness> = evidence.of("full").map(|(witness, _)| witness).collect();
        heard.sort_by(|a, b| b.weight.total.total_cmp(&a.weight.total));
        let named: Vec<String> = heard
            .iter()
            .take(NAMED)
            .map(|witness| {
                let at = witness.cylinder.as_ref().map(|name| format!(", cylinder {}", visible(name)));
                format!(
                    "{}{} on setup {} ({})",
                    witness.outing.outing.date.short(),
                    at.unwrap_or_default(),
                    witness.setup,
                    percent(witness.weight.total)
                )
            })
            .collect();
        lines.push(format!("Heard most: {}.", named.join(", ")));
        lines
    }

    /// What is said of the newest run, where the record cannot explain it.
    pub fn surprise(&self) -> Option<String> {
        let (learned, evidence) = self.told.learned.zip(self.told.evidence)?;
        first::surprise(learned, evidence)
    }

    /// Whether that run was lean.
    pub fn is_surprised_by_lean(&self) -> bool {
        let Some((learned, evidence)) = self.told.learned.zip(self.told.evidence) else { return false };
        let newest = learned.newest.and_then(|(place, _)| evidence.of("full").nth(place));
        newest.is_some_and(|(_, verdict)| matches!(verdict.judged, Judged::Lean | Judged::SlightlyLean))
    }

    /// What theory and record have in a card or a plan, in a sentence or two. `greatest` is the greatest risk of lean at full throttle
    /// of all that is shown; none where nothing is fitted.
    pub fn in_short(&self, greatest: Option<f64>) -> String {
        let full =
            self.told.learned.and_then(|learned| learned.zones.iter().find(|zone| zone.zone == "full"));
        match (self.told.evidence, full) {
            (None, _) => "Theory alone, as asked: the risk of lean is not known.".to_owned(),
            (Some(_), None) => {
                "Theory alone at full throttle: no judged outing speaks of it, so the risk of lean is not known."
                    .to_owned()
            }
            (Some(_), Some(full)) => format!(
                "{} In the air of the baseline {} of this is record: {} that count as {}.",
                greatest_risk(greatest, full.limit),
                percent(self.evidence.weight_of_record.0),
                count(full.verdicts, "outing"),
                fixed(full.weight, 1)
            ),
        }
    }

    fn size_in_tenths(&self, size: f64) -> String {
        if self.told.injected { format!("{} %", signed(size, 1)) } else { fixed(size, 1) }
    }

    fn size(&self, size: f64) -> String {
        if self.told.injected { format!("{} %", signed(size, 1)) } else { trimmed(size, 2) }
    }
}

/// What to say of two outings that cannot both be right: one setup in as good as the same air, once lean and once rich.
fn disagreement(evidence: &Evidence) -> Option<String> {
    let mut heard: Vec<_> = evidence.of("full").collect();
    // The newest pair is the one that somebody still remembers.
    heard.reverse();
    let side = |judged: Judged| match judged {
        Judged::Lean | Judged::SlightlyLean => -1,
        Judged::Right => 0,
        Judged::SlightlyRich | Judged::Rich => 1,
    };
    // A word like seized is no slip of the pen.
    heard.retain(|(witness, _)| witness.sign.is_none() && !witness.outing.outing.is_closed());
    let (one, other) = heard.iter().enumerate().find_map(|(at, (one, said))| {
        let other = heard.iter().skip(at + 1).find(|(other, heard)| {
            side(said.judged) * side(heard.judged) < 0
                && one.setup == other.setup
                && one.cylinder == other.cylinder
                && (said.delivered / heard.delivered).ln().abs() < SAME_FUEL
                && (one.factor / other.factor).ln().abs() < SAME_FUEL
        });
        other.map(|(other, _)| (one, other))
    })?;
    Some(format!(
        "The outings of {} and {} disagree, one lean and one rich on the same setup in the same air: check what was written down.",
        other.outing.outing.date.short(),
        one.outing.outing.date.short()
    ))
}

/// The greatest risk of lean of all that is shown, beside the limit; said of no more than that.
fn greatest_risk(greatest: Option<f64>, limit: f64) -> String {
    let limit_words = percent_trimmed(limit);
    // Upward: what is said is not to be exceeded.
    let up = |risk: f64| format!("{} %", trimmed((1000.0 * risk).ceil() / 10.0, 1));
    match greatest {
        None => "The risk of lean at full throttle is not known of anything here.".to_owned(),
        Some(risk) if risk <= limit => format!(
            "At full throttle the risk of lean is {} at most in all that stands here (limit {limit_words}).",
            up(risk)
        ),
        Some(risk) => format!(
            "At full throttle the risk of lean goes up to {}, above the limit of {limit_words}: what ran right on the bike may stay, and no record is answered with ever more fuel in one step.",
            up(risk)
        ),
    }
}
