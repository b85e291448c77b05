//! `serve`: pages of the same answers as the commands', from the laptop to the phones around it.
//!
//! A request passes the doors in this order: how many come at once ([`listen`]), how often one comes and how often it guessed ([`pace`]),
//! what it calls us and where it is from ([`door`]), whether it knows the pass key ([`key`]), and, where it writes, whether its form is
//! ours. Only then a garage is opened, anew for each, on a thread that may wait: [`pages`] reads, [`writing`] records. Both ask
//! [`crate::acts`], as the commands do.

mod address;
mod ahead;
mod asked;
mod door;
mod forms;
mod key;
mod listen;
mod looking;
mod mending;
mod pace;
mod pages;
mod said;
mod standing;
mod writing;

use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::{Arc, Mutex};

use self::key::Keys;
use self::pace::Pace;
pub use self::standing::Order;
use crate::machine;
use crate::report::Trouble;
use crate::serve::standing::{Serving, no_secret};

/// Addresses at which it is served, and the pass key where one is wanted.
#[derive(Debug, Clone)]
pub struct Served {
    /// Where the laptop itself finds it.
    pub here: String,
    /// Where others on the network find it, the likeliest first; empty where they may not come.
    pub there: Vec<String>,
    /// The pass key, as it is typed; none where others may not come.
    pub key: Option<String>,
}

impl Served {
    /// The address that goes in at once, for a picture; none where others may not come.
    pub fn in_one(&self) -> Option<String> {
        Some(format!("{}key/{}", self.there.first()?, self.key.as_ref()?))
    }
}

/// Serves until Ctrl-C; `started` is told where.
pub fn serve(order: Order, started: impl FnOnce(&Served) -> Result<(), Trouble>) -> Result<(), Trouble> {
    let keys = Keys::new(order.open).map_err(|error| no_secret(&error))?;
    let ip = if order.open { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
    let listener =
        TcpListener::bind(SocketAddr::from((ip, order.port))).map_err(|error| no_port(order.port, &error))?;
    let port = listener.local_addr().map_err(|error| no_port(order.port, &error))?.port();
    let served = Served {
        here: address::of(Ipv4Addr::LOCALHOST, port),
        there: if order.open { address::others(port) } else { Vec::new() },
        key: keys.pass_key().map(str::to_owned),
    };
    machine::ticking();
    crate::advice::learning::remember();
    crate::store::keep_what_was_read();
    let standing = Serving {
        order,
        keys,
        pace: Mutex::new(Pace::default()),
        sent: Mutex::default(),
        writing: Mutex::default(),
        busy: Arc::default(),
        ahead: Arc::default(),
    };
    listen::until_stopped(listener, standing, || started(&served))
}

fn no_port(port: u16, error: &std::io::Error) -> Trouble {
    let (message, help) = match error.kind() {
        std::io::ErrorKind::AddrInUse => (
            format!("Port {port} is in use."),
            "If that is another `reedbook serve`, its pages are there already; else take another port, like --port 8378, or --port 0 for any that is free.",
        ),
        std::io::ErrorKind::PermissionDenied => {
            (format!("Port {port} may not be used."), "Take one from 1024 on, like --port 8377.")
        }
        _ => (format!("Port {port} cannot be opened: {error}."), "Take another port, like --port 8378."),
    };
    Trouble::request(Some("port"), message, help)
}
