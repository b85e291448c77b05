//! The addresses of this machine that a phone can type.

use std::net::{Ipv4Addr, UdpSocket};

use if_addrs::IfAddr;

/// An address of ours as it is typed.
pub(super) fn of(ip: Ipv4Addr, port: u16) -> String {
    format!("http://{ip}:{port}/")
}

/// Where others on the network find us, the likeliest first; empty where there is no network.
pub(super) fn others(port: u16) -> Vec<String> {
    let known = if_addrs::get_if_addrs().unwrap_or_default();
    let known = known.into_iter().filter_map(|one| match one.addr {
        IfAddr::V4(v4) => Some(v4.ip),
        IfAddr::V6(_) => None,
    });
    in_order(known.collect(), outgoing()).into_iter().map(|ip| of(ip, port)).collect()
}

/// The address that goes out: asked of the machine's table of ways, nothing is sent.
fn outgoing() -> Option<Ipv4Addr> {
    // RFC 5737: an address that is nobody's.
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    match socket.local_addr().ok()?.ip() {
        std::net::IpAddr::V4(ip) => Some(ip),
        std::net::IpAddr::V6(_) => None,
    }
}

/// The one that goes out first, then those of a home or a team (RFC 1918), then the rest.
fn in_order(mut known: Vec<Ipv4Addr>, outgoing: Option<Ipv4Addr>) -> Vec<Ipv4Addr> {
    known.retain(|ip| !ip.is_loopback() && !ip.is_unspecified());
    known.sort_by_key(|ip| (Some(*ip) != outgoing, !ip.is_private(), ip.is_link_local(), *ip));
    known.dedup();
    known
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_address_that_goes_out_is_named_first() {
        let known = [[127, 0, 0, 1], [169, 254, 3, 4], [172, 17, 0, 1], [192, 168, 1, 5]].map(Ipv4Addr::from);
        let home = Ipv4Addr::from([192, 168, 1, 5]);
        let bridge = Ipv4Addr::from([172, 17, 0, 1]);
        let own = Ipv4Addr::from([169, 254, 3, 4]);
        assert_eq!(in_order(known.to_vec(), Some(home)), [home, bridge, own]);
        assert_eq!(in_order(known.to_vec(), None), [bridge, home, own]);
        assert_eq!(of(home, 8377), "http://192.168.1.5:8377/");
    }
}
