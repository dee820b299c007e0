//! Where this machine is reached from its network: its addresses, and its names, told by multicast DNS (RFC 6762).

use std::net::{IpAddr, Ipv4Addr};

use mdns_sd::{ServiceDaemon, ServiceInfo};

/// The addresses by which others of the network may reach this machine. Those of its own inside alone are left out: of the loop, of
/// links without an address given (RFC 3927), of bridges to containers and virtual machines (by their usual names).
pub fn own_addresses() -> Vec<Ipv4Addr> {
    const INSIDE: [&str; 7] = ["docker", "br-", "veth", "virbr", "vmnet", "vboxnet", "lxc"];
    let cards = if_addrs::get_if_addrs().unwrap_or_default().into_iter();
    let outside = cards.filter(|card| !INSIDE.iter().any(|inside| card.name.starts_with(inside)));
    let mut addresses: Vec<Ipv4Addr> = outside
        .filter_map(|card| match card.ip() {
            IpAddr::V4(address) => Some(address),
            IpAddr::V6(_) => None,
        })
        .filter(|address| !address.is_loopback() && !address.is_link_local() && !address.is_unspecified())
        .collect();
    addresses.sort_by_key(|address| (!address.is_private(), *address));
    addresses.dedup();
    addresses
}

/// A name that is told as long as this lives.
pub struct Announced {
    daemon: ServiceDaemon,
}

impl Drop for Announced {
    fn drop(&mut self) {
        // The network forgets it by itself after two minutes.
        let _ = self.daemon.shutdown();
    }
}

/// Tells the network that `host`, a name that ends in `.local`, is this machine at these addresses, and serves pages at `port`.
///
/// # Errors
/// In words, when the network does not let itself be told.
pub fn announce(host: &str, addresses: &[Ipv4Addr], port: u16) -> Result<Announced, String> {
    let daemon = ServiceDaemon::new().map_err(|why| why.to_string())?;
    let announced = Announced { daemon };
    let addresses: Vec<IpAddr> = addresses.iter().copied().map(IpAddr::V4).collect();
    let name = format!("loomtag {}", host.trim_end_matches(".local"));
    let host = format!("{}.", host.trim_end_matches('.'));
    let service = ServiceInfo::new("_http._tcp.local.", &name, &host, &addresses[..], port, None)
        .map_err(|why| why.to_string())?;
    announced.daemon.register(service).map_err(|why| why.to_string())?;
    Ok(announced)
}
