//! Who comes in. A request must call us by the address at which it came, a form must be of a page of ours, and where others may come one
//! must have known the pass key. Nobody is let in by a name: a page on the internet can make a name of its own lead here.

use std::net::{IpAddr, SocketAddr};

use hyper::header::{self, HeaderMap, HeaderName};

use super::asked::{Ask, Reply};
use super::{Serving, key};
use crate::machine;
use crate::report::page::live::{self, STYLE, STYLE_PATH, TOKEN};

/// Name of the address under which the key is typed.
const KEY: &str = "key";

/// From where a request comes, and what it says of itself.
pub(super) struct Comer<'h> {
    /// Who asks.
    pub(super) from: IpAddr,
    /// The address of ours at which it came.
    pub(super) at: SocketAddr,
    /// Its headers.
    pub(super) headers: &'h HeaderMap,
}

impl Comer<'_> {
    /// A header that is there once; none where it is not there, or more often.
    fn header(&self, name: &HeaderName) -> Option<&str> {
        let mut all = self.headers.get_all(name).iter();
        let only = all.next().filter(|_| all.next().is_none())?;
        only.to_str().ok()
    }

    /// What it calls us, where that is right: the address at which it came.
    fn host(&self) -> Option<&str> {
        let host = self.header(&header::HOST)?;
        let port = self.at.port();
        let as_a_browser_says = |name: &str| host == format!("{name}:{port}") || (port == 80 && host == name);
        let is_known = as_a_browser_says(&self.at.ip().to_string())
            || (self.at.ip().is_loopback() && as_a_browser_says("localhost"));
        is_known.then_some(host)
    }

    /// Whether it bears our cookie.
    fn is_in(&self, standing: &Serving) -> bool {
        let name = cookie_name(self.at.port());
        let all = self.headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
        all.flat_map(|value| value.split(';')).filter_map(|pair| pair.trim().split_once('=')).any(
            |(known, value)| {
                known == name && key::is_same(standing.keys.session().as_bytes(), value.as_bytes())
            },
        )
    }
}

/// Cookies do not tell ports apart: two garages on one laptop have two names.
fn cookie_name(port: u16) -> String {
    format!("reedbook-{port}")
}

/// The cookie of who is in; it is gone with the browser's window, and no other page sends it.
pub(super) fn cookie(standing: &Serving, port: u16) -> String {
    format!("{}={}; HttpOnly; SameSite=Strict; Path=/", cookie_name(port), standing.keys.session())
}

/// What is refused before a form is read.
pub(super) fn stop(standing: &Serving, comer: &Comer<'_>, writes: bool) -> Option<Reply> {
    let now = machine::ticking();
    let may_ask = standing.pace.lock().is_ok_and(|mut pace| pace.may_ask(comer.from, now));
    if !may_ask {
        let reply = Reply::refused(429, "Too many requests at once: wait a few seconds.");
        return Some(Reply { wait_s: Some(5), ..reply });
    }
    let Some(host) = comer.host() else {
        return Some(Reply::refused(403, "Ask for it by the address that the laptop shows."));
    };
    if writes {
        // A browser says of every form from where it is.
        let is_ours = comer.header(&header::ORIGIN).is_some_and(|origin| origin == format!("http://{host}"));
        if !is_ours {
            return Some(Reply::refused(
                403,
                "This form is not from a page of this laptop: nothing was done.",
            ));
        }
    }
    None
}

/// What is said at the door: the style, the key, and whoever is not in; none where it is for the pages.
pub(super) fn answer(standing: &Serving, comer: &Comer<'_>, writes: bool, ask: &Ask) -> Option<Reply> {
    if !writes && ask.path == [STYLE_PATH.trim_start_matches('/')] {
        return Some(Reply { is_style: true, ..Reply::page(STYLE.to_owned()) });
    }
    let is_in = comer.is_in(standing);
    match (standing.keys.pass_key(), ask.path.as_slice()) {
        (Some(_), [door]) if door == KEY && writes => {
            return Some(knock(standing, comer, ask.typed.get(KEY), Reply::go("/".to_owned())));
        }
        (Some(_), [door, typed]) if door == KEY && !writes => {
            return Some(knock(standing, comer, typed, Reply::page(live::inside())));
        }
        (Some(_), _) if !is_in => return Some(Reply { status: 401, ..Reply::page(live::key(None)) }),
        // Whoever sits at the laptop is in as soon as a page of ours was shown.
        (None, _) if !is_in && writes => {
            return Some(Reply::refused(403, "Open the page again, then send it: nothing was done."));
        }
        _ => {}
    }
    if !writes {
        return None;
    }
    if standing.order.look {
        return Some(Reply::refused(403, "Only to be looked at: nothing was done."));
    }
    let is_ours = key::is_same(standing.keys.token().as_bytes(), ask.typed.get(TOKEN).as_bytes());
    (!is_ours).then(|| {
        Reply::refused(403, "This form is from another evening: open the page again. Nothing was done.")
    })
}

/// A key that was typed, or came with an address.
fn knock(standing: &Serving, comer: &Comer<'_>, typed: &str, inside: Reply) -> Reply {
    let now = machine::ticking();
    let Ok(mut pace) = standing.pace.lock() else { return Reply::refused(500, "Start it again.") };
    if let Some(wait) = pace.wait(comer.from, now) {
        let seconds = wait.as_secs() + 1;
        let words = format!("Too many wrong keys: wait {seconds} s. Until then none is looked at.");
        return Reply { status: 429, wait_s: Some(seconds), ..Reply::page(live::key(Some(&words))) };
    }
    if standing.keys.opens(typed) {
        pace.right(comer.from);
        return Reply { lets_in: true, ..inside };
    }
    pace.wrong(comer.from, now);
    Reply { status: 401, ..Reply::page(live::key(Some("That is not the pass key."))) }
}
