//! Who comes in. A request must call us by the address at which it came, a form must be of a page of ours, and where others may come one
//! must have known the pass key. Nobody is let in by a name: a page on the internet can make a name of its own lead here.

use std::net::{IpAddr, SocketAddr};

use hyper::header::{self, HeaderMap, HeaderName};

use super::asked::{Ask, Reply, words};
use super::key;
use crate::machine;
use crate::report::page::live::{self, Carried, FormFields, ONCE, STYLE, STYLE_PATH, TOKEN};
use crate::serve::standing::Serving;

/// Name of the address under which the key is typed.
const KEY: &str = "key";
/// Where one is sent on from an address that holds the key, so that it stands neither in the address bar nor in the history.
const INSIDE: &str = "in";

/// What becomes of a request at the door.
pub(super) enum Way {
    /// This is said.
    Said(Reply),
    /// It goes on to the pages, and to what is recorded.
    Inside,
    /// It is a form of before a restart: it is shown once more with all that was typed, to be sent again. Nothing is recorded.
    Again(Ask),
}

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

/// What is said at the door: the style, the key, whoever is not in, and a form of before a restart.
pub(super) fn answer(standing: &Serving, comer: &Comer<'_>, writes: bool, ask: &Ask) -> Way {
    if !writes && ask.path == [STYLE_PATH.trim_start_matches('/')] {
        return Way::Said(Reply { is_style: true, ..Reply::page(STYLE.to_owned()) });
    }
    let is_in = comer.is_in(standing);
    match (standing.keys.pass_key(), ask.path.as_slice()) {
        (Some(_), [door]) if door == KEY && writes => return typed_key(standing, comer, ask),
        (Some(_), [door, typed]) if door == KEY && !writes => {
            let reply = knock(standing, comer, typed, None);
            return Way::Said(reply.unwrap_or_else(|| Reply {
                lets_in: true,
                by_address: true,
                ..Reply::go(format!("/{INSIDE}"))
            }));
        }
        // A browser that came from a camera or a message bears no cookie yet on its way here; what it asks for from here does.
        (Some(_), [door]) if door == INSIDE && !writes => return Way::Said(Reply::page(live::inside())),
        (Some(_), _) if !is_in => {
            let carried = is_form(writes, ask).then(|| Carried {
                to: ask.path.join("/"),
                typed: bare(&ask.typed),
                is_lost: standing.order.look,
            });
            return Way::Said(Reply { status: 401, ..Reply::page(live::key(None, carried.as_ref())) });
        }
        _ => {}
    }
    if !writes {
        return Way::Inside;
    }
    if standing.order.look {
        return Way::Said(Reply::refused(
            403,
            "The laptop lets its pages be looked at only (serve --look): nothing was recorded, and what was typed is not kept. Write it down at the laptop.",
        ));
    }
    // Whoever sits at the laptop is in as soon as a page of ours was shown.
    let is_ours = is_in && key::is_same(standing.keys.token().as_bytes(), ask.typed.get(TOKEN).as_bytes());
    if is_ours { Way::Inside } else { Way::Again(ask.clone()) }
}

/// Whether it is one of the forms of a bike.
fn is_form(writes: bool, ask: &Ask) -> bool {
    writes && ask.path.len() == 3
}

/// What was typed into a form, without what signed it; a field that was emptied says so.
fn bare(typed: &FormFields) -> FormFields {
    let own = [TOKEN, ONCE, KEY, live::THEN];
    let fields = typed.fields().filter(|(name, _)| !own.contains(name));
    FormFields::of(fields.map(|(name, said)| (name.to_owned(), said.to_owned())))
}

/// The key as it was typed; a form that was sent without it goes on with all that was typed.
fn typed_key(standing: &Serving, comer: &Comer<'_>, ask: &Ask) -> Way {
    let then = ask.typed.said(live::THEN);
    let is_lost = standing.order.look;
    let carried = then.map(|to| Carried { to: to.to_owned(), typed: bare(&ask.typed), is_lost });
    if let Some(refused) = knock(standing, comer, ask.typed.get(KEY), carried.as_ref()) {
        return Way::Said(refused);
    }
    let path = then.and_then(|to| words(&format!("/{to}")));
    match (path, carried) {
        (Some(path), Some(Carried { typed, is_lost: false, .. })) => Way::Again(Ask { path, typed }),
        _ => Way::Said(Reply { lets_in: true, ..Reply::go("/".to_owned()) }),
    }
}

/// A key that was typed, or came with an address; none where it is right.
fn knock(standing: &Serving, comer: &Comer<'_>, typed: &str, carried: Option<&Carried>) -> Option<Reply> {
    let now = machine::ticking();
    let Ok(mut pace) = standing.pace.lock() else { return Some(Reply::refused(500, "Start it again.")) };
    if let Some(wait) = pace.wait(comer.from, now) {
        let seconds = wait.as_secs() + 1;
        let words = format!("Too many wrong keys: wait {seconds} s. Until then none is looked at.");
        let page = Reply::page(live::key(Some(&words), carried));
        return Some(Reply { status: 429, wait_s: Some(seconds), ..page });
    }
    if standing.keys.opens(typed) {
        pace.right(comer.from);
        return None;
    }
    pace.wrong(comer.from, now);
    Some(Reply { status: 401, ..Reply::page(live::key(Some("That is not the pass key."), carried)) })
}
