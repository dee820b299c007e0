//! One question to a printer and its answer: IPP carried by HTTP (RFC 8010, 4).
//!
//! The library `ipp` writes and reads the attributes. HTTP is asked directly, so that every stretch has its time-out, an answer its
//! limit, and a refusal its own words.

use std::cell::Cell;
use std::io::{self, Cursor, Read};
use std::sync::Arc;
use std::time::Duration;

use ipp::attribute::IppAttribute;
use ipp::model::{DelimiterTag, IppVersion, Operation};
use ipp::request::IppRequestResponse;
use ipp::value::IppValue;
use ureq::tls::{TlsConfig, TlsProvider};
use ureq::{Agent, SendBody};

use super::answer::{Answer, MOST_BYTES};
use super::failure::SendFailure;
use super::states::refusal_in_words;
use crate::base::PrinterAddress;

/// A printer in the same house answers at once; one that sleeps wakes in some seconds.
const CONNECTING: Duration = Duration::from_secs(8);
/// For a question without a document.
const ANSWERING: Duration = Duration::from_secs(20);
/// For each piece of a document, and for the answer behind it: a printer with little memory prints before it takes more.
const TAKING: Duration = Duration::from_secs(180);

/// A document that is sent behind a question.
pub(super) struct Document<'a> {
    /// Its bytes.
    pub(super) bytes: &'a mut dyn Read,
    /// How many, where that is known before.
    pub(super) length: Option<u64>,
}

/// A printer that is asked.
pub(super) struct Exchange {
    address: PrinterAddress,
    agent: Agent,
    asked: Cell<i32>,
}

impl Exchange {
    pub(super) fn new(address: PrinterAddress) -> Self {
        // Printers sign their own certificates, so that there is nothing to check them by: the way is encrypted against those who
        // listen, and who answers is known no better than without. Nothing secret is sent.
        let tls = TlsConfig::builder()
            .provider(TlsProvider::Rustls)
            .unversioned_rustls_crypto_provider(Arc::new(rustls::crypto::ring::default_provider()))
            .disable_verification(true)
            .build();
        let config = Agent::config_builder()
            .http_status_as_error(false)
            .proxy(None)
            .max_redirects(0)
            .max_redirects_will_error(false)
            .user_agent(concat!("loomtag/", env!("CARGO_PKG_VERSION")))
            .timeout_resolve(Some(CONNECTING))
            .timeout_connect(Some(CONNECTING))
            .tls_config(tls)
            .build();
        Self { address, agent: config.into(), asked: Cell::new(0) }
    }

    /// Where the printer is.
    pub(super) const fn address(&self) -> &PrinterAddress {
        &self.address
    }

    /// Asks, and gives the answer where it is a success; `what` the printer is asked stands in the refusal.
    pub(super) fn ask(
        &self,
        (operation, what): (Operation, &'static str),
        operation_attributes: Vec<IppAttribute>,
        job_attributes: Vec<IppAttribute>,
        document: Option<Document<'_>>,
    ) -> Result<Answer, SendFailure> {
        let answer = self.answer(operation, operation_attributes, job_attributes, document)?;
        // RFC 8011, B.1.2: 0x0000 to 0x00ff are successes.
        if answer.status <= 0xff {
            return Ok(answer);
        }
        const NOT_FOUND: u16 = 0x0406;
        const LOCKED: [u16; 3] = [0x0401, 0x0402, 0x0403];
        Err(match answer.status {
            NOT_FOUND if operation == Operation::GetPrinterAttributes => SendFailure::WrongPath(self.address.clone()),
            status if LOCKED.contains(&status) => SendFailure::Locked(self.address.clone()),
            status => {
                let (message, unsupported) = answer.refusal();
                let (why, is_passing) = refusal_in_words(status, message.as_deref(), &unsupported);
                SendFailure::Refuses { what, why, is_passing }
            }
        })
    }

    fn answer(
        &self,
        operation: Operation,
        operation_attributes: Vec<IppAttribute>,
        job_attributes: Vec<IppAttribute>,
        document: Option<Document<'_>>,
    ) -> Result<Answer, SendFailure> {
        let not_ipp = |why: String| SendFailure::NotIpp { address: self.address.clone(), why };
        let uri = self.address.to_string().parse().map_err(|_| not_ipp("its address is none of HTTP".to_owned()))?;
        let mut request = IppRequestResponse::new(IppVersion::v1_1(), operation, Some(uri))
            .map_err(|why| not_ipp(why.to_string()))?;
        self.asked.set(self.asked.get().wrapping_add(1).max(1));
        request.header_mut().request_id = self.asked.get();
        for (group, attributes) in
            [(DelimiterTag::OperationAttributes, operation_attributes), (DelimiterTag::JobAttributes, job_attributes)]
        {
            attributes.into_iter().for_each(|attribute| request.attributes_mut().add(group, attribute));
        }
        let head = request.to_bytes();
        let is_document = document.is_some();
        let mut nothing = io::empty();
        let (bytes, length): (&mut dyn Read, Option<u64>) = match document {
            Some(document) => (document.bytes, document.length),
            None => (&mut nothing, Some(0)),
        };
        let length = length.map(|length| length + head.len() as u64);
        let mut body = Cursor::new(head).chain(bytes);

        let mut http = self.agent.post(self.address.as_http()).header("content-type", "application/ipp");
        if let Some(length) = length {
            // Without it the body goes in chunks, which not every printer takes.
            http = http.header("content-length", length.to_string());
        }
        let config = http.config();
        let config = if is_document {
            config
                .timeout_per_write(Some(TAKING))
                .timeout_recv_response(Some(TAKING))
                .timeout_recv_body(Some(ANSWERING))
        } else {
            config.timeout_global(Some(ANSWERING))
        };
        let response = config.build().send(SendBody::from_reader(&mut body)).map_err(|why| self.failure(why))?;
        match response.status().as_u16() {
            200..=299 => {}
            401 | 403 => return Err(SendFailure::Locked(self.address.clone())),
            404 => return Err(SendFailure::WrongPath(self.address.clone())),
            426 => {
                let remedy = "write `ipps://` in place of `ipp://`";
                return Err(SendFailure::unfit("the printer takes encrypted connections only", remedy));
            }
            status => return Err(not_ipp(format!("HTTP status {status}"))),
        }
        let mut bytes = Vec::new();
        let mut body = response.into_body();
        let mut reader = body.as_reader().take(MOST_BYTES + 1);
        reader.read_to_end(&mut bytes).map_err(|why| self.failure(ureq::Error::from(why)))?;
        if bytes.len() as u64 > MOST_BYTES {
            return Err(not_ipp("its answer has no end".to_owned()));
        }
        Answer::read(bytes).map_err(not_ipp)
    }

    fn failure(&self, failure: ureq::Error) -> SendFailure {
        let address = self.address.clone();
        match failure {
            ureq::Error::HostNotFound => SendFailure::NoHost(address),
            ureq::Error::Timeout(_) => SendFailure::Silent(address),
            // The system's own resolver fails with an error of no kind; nothing else here asks for an address.
            ureq::Error::Io(source) if source.to_string().contains("lookup address") => SendFailure::NoHost(address),
            ureq::Error::Io(source) => match source.kind() {
                io::ErrorKind::ConnectionRefused => SendFailure::Refused(address),
                io::ErrorKind::TimedOut | io::ErrorKind::WouldBlock => SendFailure::Silent(address),
                io::ErrorKind::InvalidData if address.is_encrypted() => {
                    SendFailure::NotEncrypted { address, why: source.to_string() }
                }
                _ => SendFailure::Unreachable { address, source },
            },
            ureq::Error::ConnectionFailed => SendFailure::Refused(address),
            ureq::Error::Tls(why) => SendFailure::NotEncrypted { address, why: why.to_owned() },
            ureq::Error::Rustls(why) => SendFailure::NotEncrypted { address, why: why.to_string() },
            other => SendFailure::NotIpp { address, why: super::answer::plain(&other.to_string()) },
        }
    }
}

/// An attribute; names and values here are ours and short.
pub(super) fn attribute(name: &str, value: IppValue) -> Option<IppAttribute> {
    IppAttribute::with_name(name, value).ok()
}

/// A keyword attribute.
pub(super) fn keyword(name: &str, word: &str) -> Option<IppAttribute> {
    attribute(name, IppValue::new_keyword(word).ok()?)
}

/// A name attribute; what is too long is cut at a sign.
pub(super) fn name(name: &str, text: &str) -> Option<IppAttribute> {
    let mut text = text.to_owned();
    while text.len() > 255 {
        text.pop();
    }
    attribute(name, IppValue::new_name_without_language(text).ok()?)
}

/// A list of keywords.
pub(super) fn keywords(name: &str, words: &[&str]) -> Option<IppAttribute> {
    let words = words.iter().filter_map(|word| IppValue::new_keyword(*word).ok()).collect();
    attribute(name, IppValue::Array(words))
}
