//! `serve`: the job in a browser, on this machine or for phones of the bench network.

use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};

use clap::Args as Arguments;
use jiff::Timestamp;
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use tokio::net::TcpListener;

use super::Ending;
use super::complaint::Complaint;
use super::output::Output;
use crate::serve::{self, Jobs, Pin, Reach, Settings};

/// The port where the job's links name none.
const PORT: u16 = 7117;

#[derive(Debug, Arguments)]
#[command(
    after_help = "Anyone who reaches the server may read; to write, a browser asks once for the PIN that is shown here. Without `--lan` \
    only this machine reaches it. Let it be reached from a network that you trust alone: what is sent is not encrypted.\n\n\
    Examples:\n  loomtag serve --job marsh-hen\n  loomtag serve --job marsh-hen --lan\n  loomtag serve jobs --port 8080 --name bench.local"
)]
pub struct Serve {
    /// A job folder, or a folder that holds several [default: the job folder]
    #[arg(value_name = "FOLDER")]
    pub folder: Option<PathBuf>,
    /// Let phones and other machines of this network in
    #[arg(long)]
    pub lan: bool,
    /// The port [default: that of the job's links, else 7117]
    #[arg(long)]
    pub port: Option<u16>,
    /// The PIN that lets write, 4 to 12 digits [default: six by chance]
    #[arg(long, value_name = "DIGITS", value_parser = pin)]
    pub pin: Option<Pin>,
    /// A name by which browsers know this machine; may be repeated
    #[arg(long, value_name = "HOST")]
    pub name: Vec<String>,
}

fn pin(typed: &str) -> Result<Pin, String> {
    Pin::from_typed(typed).ok_or_else(|| "a PIN has 4 to 12 digits".to_owned())
}

/// Serves until it is stopped.
pub fn run(job: &Path, asked: &Serve, output: &mut Output) -> Result<Ending, Complaint> {
    let folder = asked.folder.as_deref().unwrap_or(job);
    let jobs = Jobs::of(folder).map_err(|none| Complaint::Typed {
        what: none.to_string(),
        remedy: "name a job folder, or a folder of several; `loomtag init` begins one".to_owned(),
    })?;
    let base = jobs.base();
    let (base_host, base_port) = base.as_deref().map(host_and_port).unwrap_or_default();
    let port = asked.port.or(base_port).unwrap_or(PORT);
    let mut names: Vec<String> = asked.name.iter().map(|name| name.trim_end_matches('.').to_lowercase()).collect();
    names.extend(base_host);
    names.sort();
    names.dedup();
    let pin = match asked.pin.clone() {
        Some(pin) => pin,
        None => Pin::by_chance().map_err(io::Error::other)?,
    };
    let address = if asked.lan { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    let listener =
        runtime.block_on(TcpListener::bind(SocketAddr::from((address, port)))).map_err(|source| Complaint::Typed {
            what: format!("cannot listen at port {port}: {source}"),
            remedy: "stop what else listens there, or choose another with `--port`".to_owned(),
        })?;
    let port = listener.local_addr()?.port();
    let own = if asked.lan { serve::own_addresses() } else { Vec::new() };
    output.line(format!("http://localhost:{port}/"))?;
    let mut announced = Vec::new();
    if asked.lan {
        for address in &own {
            output.line(format!("http://{address}:{port}/"))?;
        }
        for name in names.iter().filter(|name| name.parse::<IpAddr>().is_err()) {
            output.line(format!("http://{name}:{port}/"))?;
        }
        for name in names.iter().filter(|name| name.ends_with(".local")) {
            match serve::announce(name, &own, port) {
                Ok(one) => announced.push(one),
                Err(why) => output.aside(format!("the name {name} cannot be told to the network: {why}")),
            }
        }
        if own.is_empty() {
            output.aside("this machine has no address in a network: connect it, then start this again");
        }
        if let Some(address) = own.first().filter(|_| output.is_seen()) {
            picture(&format!("http://{address}:{port}/"), output)?;
        }
    }
    if matches!(jobs, Jobs::One(_)) {
        output.line(links_lead(base.as_deref(), port, asked.lan.then_some(&own), &names))?;
    }
    output.line(format!("PIN to write: {pin}"))?;
    output.line("stop it with Ctrl-C")?;
    output.flush()?;
    let router = serve::router(jobs, Settings { pin, reach: Reach { names }, clock: Timestamp::now });
    let stopped = async {
        // Where Ctrl-C cannot be heard, it ends the program as it always does.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    let ended = runtime.block_on(serve::serve(listener, router, stopped));
    // Ctrl-C waits for no page and no search: whatever writes does so whole or not at all, as when the power fails.
    runtime.shutdown_background();
    ended?;
    drop(announced);
    Ok(Ending::Done)
}

/// The address as a symbol for a phone's camera, black on white whatever the terminal's colours.
fn picture(address: &str, output: &mut Output) -> Result<(), Complaint> {
    let Ok(code) = QrCode::new(address) else { return Ok(()) };
    let drawn = code.render::<Dense1x2>().dark_color(Dense1x2::Dark).light_color(Dense1x2::Light).build();
    // The block is drawn in the colour of writing, white here.
    Ok(drawn.lines().try_for_each(|line| output.line(format!("\x1b[97;40m{line}\x1b[0m")))?)
}

/// Where the symbols of the tags lead, and whether that is this server; `own` are its addresses where the network reaches it.
fn links_lead(base: Option<&str>, port: u16, own: Option<&Vec<Ipv4Addr>>, names: &[String]) -> String {
    let Some(base) = base else {
        return "the tags' symbols are no links: a phone reads them at `/scan` here".to_owned();
    };
    let shown = base.to_lowercase();
    let (host, base_port) = host_and_port(base);
    let Some(host) = host else {
        return format!(
            "the tags' links lead to {shown}/: not to this server, unless one that encrypts passes them on"
        );
    };
    let base_port = base_port.unwrap_or(80);
    if base_port != port {
        return format!(
            "the tags' links lead to {shown}/: not here, for this server answers at port {port}; `--port {base_port}` would"
        );
    }
    let Some(own) = own else {
        return format!("the tags' links lead to {shown}/: phones reach this server there with `--lan`");
    };
    if host.parse::<Ipv4Addr>().is_ok_and(|number| own.contains(&number)) {
        format!("the tags' links lead to {shown}/: this server")
    } else if host.parse::<IpAddr>().is_ok() {
        format!("the tags' links lead to {shown}/: this machine does not have that address now")
    } else if host.ends_with(".local") && names.contains(&host) {
        format!("the tags' links lead to {shown}/: this server, as long as no other machine has that name")
    } else {
        format!("the tags' links lead to {shown}/: this server, where your network knows this machine by that name")
    }
}

/// Host and port of an address without encryption.
fn host_and_port(base: &str) -> (Option<String>, Option<u16>) {
    let base = base.to_lowercase();
    let Some(rest) = base.strip_prefix("http://") else { return (None, None) };
    let authority = rest.split('/').next().unwrap_or_default();
    match authority.rsplit_once(':') {
        Some((host, port)) => (Some(host.to_owned()), port.parse().ok()),
        None => (Some(authority.to_owned()), None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_told_where_the_links_lead() {
        let own = vec![Ipv4Addr::new(192, 168, 7, 2)];
        let names = vec!["marshhen.local".to_owned()];
        for (base, port, own, told) in [
            (None, 7117, None, "no links"),
            (Some("HTTPS://TAGS.EXAMPLE"), 7117, Some(&own), "unless one that encrypts"),
            (Some("HTTP://MARSHHEN.LOCAL:7117"), 8080, Some(&own), "`--port 7117` would"),
            (Some("HTTP://MARSHHEN.LOCAL"), 7117, Some(&own), "`--port 80` would"),
            (Some("HTTP://MARSHHEN.LOCAL:7117/HEN"), 7117, None, "with `--lan`"),
            (Some("HTTP://MARSHHEN.LOCAL:7117/HEN"), 7117, Some(&own), "local:7117/hen/: this server, as long"),
            (Some("HTTP://192.168.7.2:7117"), 7117, Some(&own), "7117/: this server"),
            (Some("HTTP://192.168.7.3:7117"), 7117, Some(&own), "does not have that address"),
            (Some("HTTP://BENCH:7117"), 7117, Some(&own), "where your network knows"),
        ] {
            let line = links_lead(base, port, own, &names);
            assert!(line.contains(told), "{line}");
        }
    }
}
