//! What is said as pages begin to be served: where they are, how one comes in, and who can read along.

use fast_qr::{ECL, QRBuilder};

use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;

/// Where pages are served.
#[derive(Debug)]
pub struct ServedAnswer<'a> {
    /// Where the laptop itself finds them.
    pub here: &'a str,
    /// Where others on the network find them, the likeliest first; empty where they may not come, or there is no network.
    pub there: &'a [String],
    /// The pass key, where others may come.
    pub key: Option<&'a str>,
    /// The address that goes in at once.
    pub in_one: Option<String>,
    /// Whether they are only to be looked at.
    pub look: bool,
}

impl ServedAnswer<'_> {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        match self.key {
            None => frame.hands(&format!("Open {} in the browser of this laptop.", self.here)),
            Some(key) => {
                match self.there {
                    [] => frame.know(
                        "This laptop is on no network: no phone finds it. Join one, and start it again.",
                    ),
                    [first, ..] => {
                        frame.hands(&format!("On the phone open {first} and type the pass key {key}"));
                    }
                }
                if let [_, others @ ..] = self.there
                    && !others.is_empty()
                {
                    frame.say(&format!("If that does not answer: {}", others.join(" ")));
                }
                frame.know(
                    "Whoever is on this network can read along, and with the pass key record. Use a network of your own: a phone's hotspot, or the team's router.",
                );
                if let Some(picture) = self.in_one.as_deref().and_then(picture) {
                    frame.say("Or point the phone's camera at this. It holds the key: who photographs it comes in too, until you stop.");
                    let white_on_black = anstyle::AnsiColor::BrightWhite.on(anstyle::AnsiColor::Black);
                    let line = |line: &str| screen.styled(white_on_black, line);
                    frame.block(picture.lines().map(line).collect::<Vec<_>>().join("\n"));
                }
                frame.say(&format!("This laptop itself: {} (the same key).", self.here));
            }
        }
        if self.look {
            frame.say("Only to be looked at: nothing can be recorded.");
        }
        frame.say("Ctrl-C ends it.");
        frame.text()
    }
}

/// An address as a QR picture (ISO/IEC 18004) in characters, two rows a line, its light parts filled; none where it is too long for one.
fn picture(address: &str) -> Option<String> {
    let code = QRBuilder::new(address).ecl(ECL::L).build().ok()?;
    let width = code.size + 2 * QUIET;
    let is_light = |row: usize, column: usize| {
        let inside = |at: usize| at.checked_sub(QUIET).filter(|at| *at < code.size);
        match (inside(row), inside(column)) {
            (Some(row), Some(column)) => !code[row][column].value(),
            _ => true,
        }
    };
    let sign = |row: usize, column: usize| match (is_light(row, column), is_light(row + 1, column)) {
        (true, true) => '█',
        (true, false) => '▀',
        (false, true) => '▄',
        (false, false) => ' ',
    };
    let line = |row: usize| (0..width).map(|column| sign(row, column)).collect::<String>();
    Some((0..width).step_by(2).map(line).collect::<Vec<_>>().join("\n"))
}

/// Light squares around it: four by the standard, of which cameras need two.
const QUIET: usize = 2;

#[cfg(test)]
mod tests {
    use super::picture;

    #[test]
    fn an_address_is_a_picture_that_fits_a_terminal() {
        let picture = picture("http://192.168.100.200:65535/key/abcd-efgh-jkmn").unwrap();
        let lines: Vec<&str> = picture.lines().collect();
        assert!(lines.len() < 22, "{} lines", lines.len());
        let widths: Vec<usize> = lines.iter().map(|line| line.chars().count()).collect();
        assert!(widths.iter().all(|width| *width == widths[0] && *width < 44), "{picture}");
        // A finder stands in three corners: a dark square of seven with a light ring.
        assert!(lines[1].starts_with("██ ▄▄▄▄▄ █") && lines[1].ends_with("█ ▄▄▄▄▄ ██"), "{picture}");
    }
}
