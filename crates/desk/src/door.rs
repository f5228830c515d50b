//! Who may come in: everything but the bare page is for whoever shows the secret, from the page's
//! own origin, under the very address that the server is bound to.

use hyper::header::{CONTENT_TYPE, HOST, HeaderMap, HeaderName, ORIGIN};
use hyper::http::request::Parts;
use hyper::{Method, StatusCode};
use std::net::SocketAddr;

/// The header that carries the secret.
pub(crate) const SECRET: HeaderName = HeaderName::from_static("x-wetrun-secret");
const FETCH_SITE: HeaderName = HeaderName::from_static("sec-fetch-site");
const FETCH_DEST: HeaderName = HeaderName::from_static("sec-fetch-dest");

/// Bytes of the secret: 160 bits.
const SECRET_BYTES: usize = 20;

/// What was asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Way {
    /// The bare page, which says nothing of the file.
    Page,
    /// A call by name, with the secret shown.
    Call(String),
}

/// The door of one desk.
pub(crate) struct Door {
    secret: String,
}

impl Door {
    /// A door with a new secret from the system.
    ///
    /// # Errors
    /// Where the system gives no random bytes.
    pub(crate) fn new() -> Result<Self, getrandom::Error> {
        let mut bytes = [0; SECRET_BYTES];
        getrandom::fill(&mut bytes)?;
        Ok(Self { secret: bytes.iter().map(|byte| format!("{byte:02x}")).collect() })
    }

    /// The secret, for the address that is printed.
    pub(crate) fn secret(&self) -> &str {
        &self.secret
    }

    /// Whether a request that came in at `bound` may, and what it asks for.
    ///
    /// # Errors
    /// The status it is refused with.
    pub(crate) fn lets_in(&self, bound: SocketAddr, head: &Parts) -> Result<Way, StatusCode> {
        let host = bound.to_string();
        let named = only(&head.headers, &HOST).is_some_and(|name| name == host);
        let plain = head.uri.scheme().is_none() && head.uri.authority().is_none();
        if !named || !plain {
            return Err(StatusCode::FORBIDDEN);
        }
        let target = head.uri.path_and_query().map_or("", |target| target.as_str());
        if head.method == Method::GET && target == "/" {
            // Nobody but a person opens it: no frame, no script, no picture.
            let frame = only(&head.headers, &FETCH_DEST).is_some_and(|dest| dest != "document");
            return if frame { Err(StatusCode::FORBIDDEN) } else { Ok(Way::Page) };
        }
        let shown = only(&head.headers, &SECRET).unwrap_or_default();
        if !same(shown, &self.secret) || !own(&head.headers, &host) {
            return Err(StatusCode::FORBIDDEN);
        }
        if head.method != Method::POST {
            return Err(StatusCode::METHOD_NOT_ALLOWED);
        }
        let json =
            only(&head.headers, &CONTENT_TYPE).is_some_and(|kind| kind == "application/json");
        if !json {
            return Err(StatusCode::UNSUPPORTED_MEDIA_TYPE);
        }
        Ok(Way::Call(target.trim_start_matches('/').to_owned()))
    }
}

/// Whether a request comes from the page itself: its `Origin` or its `Sec-Fetch-Site` says so, and
/// neither says otherwise.
fn own(headers: &HeaderMap, host: &str) -> bool {
    let origin = given(headers, &ORIGIN).map(|origin| origin == Some(&format!("http://{host}")));
    let site = given(headers, &FETCH_SITE).map(|site| site == Some("same-origin"));
    match (origin, site) {
        (None, None) => false,
        (origin, site) => origin.unwrap_or(true) && site.unwrap_or(true),
    }
}

/// A header that stands there, with its text where it has one and stands there once.
fn given<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<Option<&'h str>> {
    headers.contains_key(name).then(|| only(headers, name))
}

/// The text of a header that stands there once.
fn only<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(value)
}

/// Whether two texts are the same, in a time that tells nothing of where they differ.
fn same(shown: &str, secret: &str) -> bool {
    let differ = shown.bytes().zip(secret.bytes()).fold(0, |all, (a, b)| all | (a ^ b));
    shown.len() == secret.len() && differ == 0
}
