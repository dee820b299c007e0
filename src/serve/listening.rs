//! Connections of browsers: not more than a machine bears, and none that only stays open.

use std::convert::Infallible;
use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::{ConnectInfo, Request};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tower::ServiceExt;

/// What is borne of connections.
#[derive(Clone, Copy, Debug)]
pub struct Borne {
    /// So many at once; who comes then waits.
    pub connections: usize,
    /// A connection that asks for nothing so long is closed.
    pub silence: Duration,
}

impl Default for Borne {
    /// Fewer than a process may have files open on common systems, and time enough for a phone that is carried about.
    fn default() -> Self {
        Self { connections: 400, silence: Duration::from_secs(20) }
    }
}

/// What is waited where no connection can be taken, as when too many files are open.
const PAUSE: Duration = Duration::from_millis(200);

/// Answers whoever connects, for ever.
///
/// # Errors
/// When the socket is of no use any more.
pub async fn listen(listener: TcpListener, router: Router, borne: Borne) -> io::Result<Infallible> {
    let turns = Arc::new(Semaphore::new(borne.connections));
    loop {
        let turn = Arc::clone(&turns).acquire_owned().await.map_err(io::Error::other)?;
        match listener.accept().await {
            Ok((stream, from)) => {
                let router = router.clone();
                tokio::spawn(async move {
                    let _turn = turn;
                    answer(stream, from, router, borne.silence).await;
                });
            }
            // One that was given up before it was taken is nothing to wait for.
            Err(error) if error.kind() == io::ErrorKind::ConnectionAborted => {}
            Err(_) => tokio::time::sleep(PAUSE).await,
        }
    }
}

async fn answer(stream: TcpStream, from: SocketAddr, router: Router, silence: Duration) {
    let service = router.map_request(move |request: Request<Incoming>| {
        let mut request = request.map(Body::new);
        request.extensions_mut().insert(ConnectInfo(from));
        request
    });
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(silence);
    // How a connection ends is the browser's affair: what was to be written is written by then.
    drop(http.serve_connection(TokioIo::new(stream), TowerToHyperService::new(service)).await);
}

#[cfg(test)]
mod tests {
    use std::io::{Read as _, Write as _};
    use std::net::{Ipv4Addr, TcpStream};
    use std::time::Instant;

    use axum::routing::get;
    use tokio::runtime::Runtime;

    use super::*;

    #[test]
    #[expect(clippy::disallowed_methods, reason = "time is what is looked at")]
    fn who_says_nothing_does_not_keep_others_out() {
        let runtime = Runtime::new().expect("a runtime");
        let listener = runtime.block_on(TcpListener::bind((Ipv4Addr::LOCALHOST, 0))).expect("a port");
        let address = listener.local_addr().expect("is bound");
        let of = |ConnectInfo(from): ConnectInfo<SocketAddr>| async move { from.ip().to_string() };
        let borne = Borne { connections: 2, silence: Duration::from_millis(300) };
        runtime.spawn(listen(listener, Router::new().route("/", get(of)), borne));
        let begun = Instant::now();
        let connected = || TcpStream::connect(address).expect("is taken");
        let mut silent = [connected(), connected()];
        silent[1].write_all(b"GET / HT").expect("is sent");
        let mut third = connected();
        third.write_all(b"GET / HTTP/1.1\r\nhost: localhost\r\nconnection: close\r\n\r\n").expect("is sent");
        let mut answer = String::new();
        third.read_to_string(&mut answer).expect("is answered");
        assert!(answer.starts_with("HTTP/1.1 200") && answer.ends_with("127.0.0.1"), "{answer}");
        assert!(begun.elapsed() >= borne.silence, "it waited for its turn");
        assert_eq!(silent[0].read(&mut [0; 8]).expect("is closed"), 0);
    }
}
