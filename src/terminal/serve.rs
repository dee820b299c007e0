//! `serve`: the job in a browser, on this machine or for phones of the bench network.

use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::path::{Path, PathBuf};

use clap::Args as Arguments;
use jiff::Timestamp;
use tokio::net::TcpListener;

use super::Ending;
use super::complaint::Complaint;
use super::output::Output;
use crate::run::Job;
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
    let base = base_of(&jobs);
    let (base_host, base_port) = base.as_deref().map(host_and_port).unwrap_or_default();
    let port = asked.port.or(base_port).unwrap_or(PORT);
    let mut names: Vec<String> = asked.name.iter().map(|name| name.to_lowercase()).collect();
    names.extend(base_host);
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
    output.line(format!("http://localhost:{port}/"))?;
    if asked.lan {
        let own = own_address().map(|address| address.to_string());
        for host in own.iter().chain(&names) {
            output.line(format!("http://{host}:{port}/"))?;
        }
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
    runtime.block_on(serve::serve(listener, router, stopped))?;
    Ok(Ending::Done)
}

/// The address that the symbols of a single job begin with.
fn base_of(jobs: &Jobs) -> Option<String> {
    let Jobs::One(folder) = jobs else { return None };
    let job = Job::read(folder).ok()?.value?;
    job.payload().base.as_ref().map(|base| base.value.clone())
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

/// The address by which this machine is reached from its network. Nothing is sent: the system only says which way it would go.
fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    // An address for documentation (RFC 5737): it is outside of every network.
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    socket.local_addr().ok().map(|address| address.ip())
}
