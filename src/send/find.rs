//! Printers that tell of themselves in this network: multicast DNS (RFC 6762) and service discovery (RFC 6763).

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::time::Duration;

use mdns_sd::{ResolvedService, ServiceDaemon, ServiceEvent};

use super::answer::plain;
use super::failure::SendFailure;
use crate::base::PrinterAddress;

/// The services of IPP (RFC 3510; RFC 7472; PWG 5100.14, 4.2.1).
const SERVICES: [(&str, &str); 2] = [("_ipp._tcp.local.", "ipp"), ("_ipps._tcp.local.", "ipps")];
/// Printers answer within a second; some miss the first question.
const LOOKING: Duration = Duration::from_millis(1500);
/// No workshop has more.
const MOST: usize = 200;

/// A printer that told of itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FoundPrinter {
    /// Its name.
    pub name: String,
    /// Its address by name.
    pub address: PrinterAddress,
    /// Its address by number, for networks that do not know the name.
    pub by_number: Option<PrinterAddress>,
    /// Kinds of documents that it takes, as far as it tells.
    pub formats: Vec<String>,
}

/// Looks for some seconds.
///
/// # Errors
/// [`SendFailure::NoSearch`] when the network does not let itself be asked.
pub fn find() -> Result<Vec<FoundPrinter>, SendFailure> {
    let failed = |why: mdns_sd::Error| SendFailure::NoSearch(why.to_string());
    let daemon = ServiceDaemon::new().map_err(failed)?;
    let mut found = BTreeMap::new();
    let listening = SERVICES.map(|(service, scheme)| (daemon.browse(service), scheme));
    for (receiver, scheme) in listening {
        // Both are asked at once; the second has been answered while the first was listened to.
        let receiver = receiver.map_err(failed)?;
        let mut rest = LOOKING;
        const STEP: Duration = Duration::from_millis(50);
        while !rest.is_zero() && found.len() < MOST {
            match receiver.recv_timeout(STEP.min(rest)) {
                Ok(ServiceEvent::ServiceResolved(service)) => {
                    if let Some(printer) = printer(&service, scheme) {
                        found.insert((printer.name.clone(), printer.address.to_string()), printer);
                    }
                }
                Ok(_) => {}
                Err(_) => rest = rest.saturating_sub(STEP),
            }
        }
    }
    // It ends with the program all the same.
    let _ = daemon.shutdown();
    Ok(found.into_values().collect())
}

fn printer(service: &ResolvedService, scheme: &str) -> Option<FoundPrinter> {
    let path = service.get_property_val_str("rp").unwrap_or("ipp/print").trim_start_matches('/');
    let (port, host) = (service.get_port(), service.get_hostname().trim_end_matches('.'));
    let address = |host: &str| PrinterAddress::from_typed(&format!("{scheme}://{host}:{port}/{path}")).ok();
    let mut numbers: Vec<IpAddr> = service.get_addresses().iter().map(|number| number.to_ip_addr()).collect();
    numbers.sort();
    let by_number = numbers.iter().find(|number| number.is_ipv4()).and_then(|number| address(&number.to_string()));
    let formats = service.get_property_val_str("pdl").unwrap_or_default();
    let formats = formats.split(',').map(plain).filter(|format| !format.is_empty()).take(20).collect();
    let name = service.get_fullname().split("._ipp").next().unwrap_or_default();
    Some(FoundPrinter { name: plain(name), address: address(host)?, by_number, formats })
}
