//! What a request brings with it, read whole within bounds of size and time.
//!
//! A body comes in; its bytes go out, or why there are none. What is too large is taken to its end all the same, as far as that is
//! bearable: a browser that is cut off while it sends shows no answer.

use std::future::poll_fn;
use std::pin::Pin;
use std::time::Duration;

use axum::body::{Body, Bytes, HttpBody};
use tokio::time::{Instant, timeout_at};

/// How long a body may take.
#[derive(Clone, Copy, Debug)]
pub struct Patience {
    /// Longest until more of it comes.
    pub pause: Duration,
    /// Longest until its end.
    pub whole: Duration,
}

/// A photograph of 6 MB takes 50 s at 1 Mbit/s, and three minutes are enough for 32 MB at 1.5.
pub const PATIENCE: Patience = Patience { pause: Duration::from_secs(20), whole: Duration::from_secs(180) };

/// Most that is taken to be thrown away.
const MOST_DRAINED: usize = 256 << 20;

/// Why there is no body.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoBody {
    /// It has more bytes than may come.
    TooLarge,
    /// It did not come in time.
    TooSlow,
    /// It broke off.
    Broken,
}

/// Reads a body of at most so many bytes.
///
/// # Errors
/// [`NoBody`] says why not.
pub async fn read(mut body: Body, most: usize, patience: Patience) -> Result<Bytes, NoBody> {
    let end = Instant::now() + patience.whole;
    let (mut bytes, mut drained) = (Vec::new(), 0);
    loop {
        let until = end.min(Instant::now() + patience.pause);
        let frame = timeout_at(until, poll_fn(|context| Pin::new(&mut body).poll_frame(context)));
        match frame.await {
            Err(_) if drained > 0 => return Err(NoBody::TooLarge),
            Err(_) => return Err(NoBody::TooSlow),
            Ok(None) if drained > 0 => return Err(NoBody::TooLarge),
            Ok(None) => return Ok(bytes.into()),
            Ok(Some(Err(_))) => return Err(NoBody::Broken),
            Ok(Some(Ok(frame))) => {
                // What is no piece of the body is a trailer, which nobody asked for.
                let Ok(piece) = frame.into_data() else { continue };
                if drained == 0 && bytes.len() + piece.len() <= most {
                    bytes.extend_from_slice(&piece);
                } else {
                    bytes = Vec::new();
                    drained += piece.len();
                }
                if drained > MOST_DRAINED {
                    return Err(NoBody::TooLarge);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading<A>(reading: impl Future<Output = A>) -> A {
        tokio::runtime::Builder::new_current_thread().enable_time().build().expect("a runtime").block_on(reading)
    }

    #[test]
    fn a_body_comes_whole_or_not_at_all() {
        assert_eq!(reading(read(Body::from("four"), 4, PATIENCE)), Ok(Bytes::from("four")));
        assert_eq!(reading(read(Body::from("five!"), 4, PATIENCE)), Err(NoBody::TooLarge));
        assert_eq!(reading(read(Body::empty(), 0, PATIENCE)), Ok(Bytes::new()));
    }

    #[test]
    fn nobody_waits_for_a_body_without_end() {
        use std::io::{Read, Write};
        let patience = Patience { pause: Duration::from_millis(50), whole: Duration::from_secs(5) };
        let answer = move |body: Body| async move { format!("{:?}", read(body, 4, patience).await) };
        let router = axum::Router::new().route("/", axum::routing::post(answer));
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("a runtime");
        let listener = runtime.block_on(tokio::net::TcpListener::bind("127.0.0.1:0")).expect("a free port");
        let address = listener.local_addr().expect("bound");
        runtime.spawn(axum::serve(listener, router).into_future());
        let mut browser = std::net::TcpStream::connect(address).expect("it listens");
        browser.write_all(b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 4\r\n\r\nfo").expect("sent");
        let mut heard = [0; 1000];
        let length = browser.read(&mut heard).expect("it answers");
        let heard = String::from_utf8_lossy(&heard[..length]).into_owned();
        assert!(heard.ends_with("Err(TooSlow)"), "{heard}");
    }
}
