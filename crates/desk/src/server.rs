//! The server: HTTP/1 on the loopback, one page, and calls that are worked out off its thread.

use crate::calls::{Desktop, Reply};
use crate::door::{Door, Way};
use crate::files::Files;
use crate::page::Page;
use crate::waiting_room::WaitingRoom;
use http_body_util::{BodyExt, Full};
use hyper::body::{Body, Bytes, Incoming};
use hyper::header::{self, HeaderValue};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use std::convert::Infallible;
use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Duration;
use thiserror::Error;
use tokio::time::timeout;

/// No request is larger, in bytes.
const LARGEST: u64 = wetrun_site::LARGEST_BYTES as u64;
/// The head of a request comes within this time, and so does the next piece of its body.
const STALLED: Duration = Duration::from_secs(10);
/// A body is whole within so many times that.
const SLOWEST: u32 = 6;
/// How often the file is looked at.
const LOOK: Duration = Duration::from_millis(400);
/// A page that waits for news is answered after this time even without any.
const NEWS: Duration = Duration::from_secs(20);
/// Ports tried where one is free on IPv4 and not on IPv6.
const TRIES: usize = 20;

/// Why a desk could not be opened, or had to close.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum DeskError {
    /// The port is taken, or nothing can be bound.
    #[error("cannot listen on 127.0.0.1:{port}: {why}")]
    Listen {
        /// The port asked for; 0 for a free one.
        port: u16,
        /// What the system said.
        why: std::io::Error,
    },
    /// The file cannot be used at all.
    #[error("{0}")]
    File(String),
    /// The system lacks something that a server needs.
    #[error("cannot serve the page: {0}")]
    System(String),
}

/// A desk that is bound and has read its file.
pub struct Desk {
    listeners: Vec<TcpListener>,
    house: House,
}

/// What every connection needs.
struct House {
    door: Door,
    page: Page,
    desk: Arc<Desktop>,
    room: WaitingRoom,
    guests: AtomicU64,
    stalled: Duration,
}

impl Desk {
    /// Binds to the loopback, both 127.0.0.1 and ::1 where the machine has it, at a port (0: a free
    /// one), and reads the file.
    ///
    /// # Errors
    /// [`DeskError`] where the port is taken or the file is no text.
    pub fn open(files: Arc<dyn Files>, port: u16) -> Result<Self, DeskError> {
        let desk = Desktop::open(files).map_err(DeskError::File)?;
        let listeners = listen(port).map_err(|why| DeskError::Listen { port, why })?;
        let door = Door::new().map_err(|why| DeskError::System(why.to_string()))?;
        let house = House {
            door,
            page: Page::new(),
            desk: Arc::new(desk),
            room: WaitingRoom::default(),
            guests: AtomicU64::new(0),
            stalled: STALLED,
        };
        Ok(Self { listeners, house })
    }

    /// How long a request that stalls is waited for; 10 s where nothing is said.
    #[must_use]
    pub fn patience(mut self, stalled: Duration) -> Self {
        self.house.stalled = stalled;
        self
    }

    /// The address to open, with the secret in its fragment: browsers send that to nobody.
    pub fn address(&self) -> String {
        let bound = self.listeners.first().and_then(|listener| listener.local_addr().ok());
        let bound = bound.map_or_else(String::new, |bound| bound.to_string());
        format!("http://{bound}/#{}", self.house.door.secret())
    }

    /// Serves until the process ends.
    ///
    /// # Errors
    /// [`DeskError::System`] where the system refuses what a server needs.
    pub fn run(self) -> Result<Infallible, DeskError> {
        let system = |why: std::io::Error| DeskError::System(why.to_string());
        let house = Arc::new(self.house);
        let runtime =
            tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(system)?;
        let desk = Arc::clone(&house.desk);
        let watch = move || {
            loop {
                std::thread::sleep(LOOK);
                desk.look();
            }
        };
        std::thread::Builder::new().name("watch".to_owned()).spawn(watch).map_err(system)?;
        runtime.block_on(async {
            let mut bound = Vec::new();
            for listener in self.listeners {
                listener.set_nonblocking(true).map_err(system)?;
                bound.push(tokio::net::TcpListener::from_std(listener).map_err(system)?);
            }
            for listener in bound {
                tokio::spawn(accept(listener, Arc::clone(&house)));
            }
            std::future::pending().await
        })
    }
}

/// The loopback addresses, at one port.
fn listen(port: u16) -> std::io::Result<Vec<TcpListener>> {
    let mut last = None;
    for _ in 0..TRIES {
        let four = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port)))?;
        let bound = four.local_addr()?.port();
        match TcpListener::bind(SocketAddr::from((Ipv6Addr::LOCALHOST, bound))) {
            Ok(six) => return Ok(vec![four, six]),
            // Somebody else answers there: the page would not be the only one at its port.
            Err(why) if why.kind() == std::io::ErrorKind::AddrInUse => last = Some(why),
            // A machine without IPv6.
            Err(_) => return Ok(vec![four]),
        }
        if port != 0 {
            break;
        }
    }
    Err(last.unwrap_or_else(|| std::io::Error::from(std::io::ErrorKind::AddrInUse)))
}

async fn accept(listener: tokio::net::TcpListener, house: Arc<House>) {
    let Ok(bound) = listener.local_addr() else { return };
    loop {
        let Ok((stream, _)) = listener.accept().await else {
            // Out of descriptors: some come free.
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        // An answer goes out at once, however small its last piece is.
        let _ = stream.set_nodelay(true);
        let id = house.guests.fetch_add(1, Ordering::Relaxed);
        let inside = Arc::clone(&house);
        let connection = tokio::spawn(async move {
            let serve = service_fn(|request| {
                let house = Arc::clone(&inside);
                async move { Ok::<_, Infallible>(answer(&house, bound, id, request).await) }
            });
            let mut protocol = http1::Builder::new();
            protocol.timer(TokioTimer::new()).header_read_timeout(inside.stalled);
            protocol.max_buf_size(64 << 10);
            // A connection that breaks concerns nobody else.
            let _ = protocol.serve_connection(TokioIo::new(stream), serve).await;
        });
        house.room.enter(id, connection.abort_handle());
    }
}

async fn answer(
    house: &Arc<House>,
    bound: SocketAddr,
    guest: u64,
    request: Request<Incoming>,
) -> Response<Full<Bytes>> {
    let (head, body) = request.into_parts();
    let reply = match house.door.lets_in(bound, &head) {
        Err(status) => Reply::bare(status),
        Ok(Way::Page) => {
            let html = Bytes::from(house.page.html.clone());
            return respond(house, StatusCode::OK, "text/html; charset=utf-8", html);
        }
        Ok(Way::Call(name)) => {
            house.room.leave(guest);
            match whole(body, house.stalled).await {
                Ok(body) => call(house, name, body).await,
                Err(status) => Reply::bare(status),
            }
        }
    };
    respond(house, reply.status, "application/json", Bytes::from(reply.json))
}

async fn call(house: &Arc<House>, name: String, body: Vec<u8>) -> Reply {
    if name == "news" {
        let desk = Arc::clone(&house.desk);
        let _ = timeout(NEWS, desk.news(&body)).await;
    }
    let desk = Arc::clone(&house.desk);
    let waits = Waits::default();
    let gone = Arc::clone(&waits.gone);
    let waited = move || !gone.load(Ordering::Relaxed);
    let done = tokio::task::spawn_blocking(move || desk.call(&name, &body, &waited)).await;
    drop(waits);
    done.unwrap_or_else(|_| Reply::bare(StatusCode::INTERNAL_SERVER_ERROR))
}

/// Somebody who waits for an answer: a connection that is closed takes its request away, and this
/// with it.
#[derive(Default)]
struct Waits {
    gone: Arc<AtomicBool>,
}

impl Drop for Waits {
    fn drop(&mut self) {
        self.gone.store(true, Ordering::Relaxed);
    }
}

/// The bytes of a body that is neither too large nor too slow.
async fn whole(mut body: Incoming, stalled: Duration) -> Result<Vec<u8>, StatusCode> {
    if body.size_hint().lower() > LARGEST {
        return Err(StatusCode::PAYLOAD_TOO_LARGE);
    }
    let read = async {
        let mut bytes = Vec::new();
        loop {
            let Ok(next) = timeout(stalled, body.frame()).await else {
                return Err(StatusCode::REQUEST_TIMEOUT);
            };
            let Some(frame) = next else { return Ok(bytes) };
            let frame = frame.map_err(|_| StatusCode::BAD_REQUEST)?;
            let Ok(data) = frame.into_data() else { continue };
            if bytes.len() as u64 + data.len() as u64 > LARGEST {
                return Err(StatusCode::PAYLOAD_TOO_LARGE);
            }
            bytes.extend_from_slice(&data);
        }
    };
    timeout(stalled * SLOWEST, read).await.unwrap_or(Err(StatusCode::REQUEST_TIMEOUT))
}

fn respond(house: &House, status: StatusCode, kind: &str, body: Bytes) -> Response<Full<Bytes>> {
    let mut response = Response::new(Full::new(body));
    *response.status_mut() = status;
    let policy = &house.page.policy;
    let fixed = [
        (header::CONTENT_TYPE, kind),
        (header::CONTENT_SECURITY_POLICY, policy),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (header::HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (header::HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    ];
    for (name, value) in fixed {
        if let Ok(value) = HeaderValue::from_str(value) {
            response.headers_mut().insert(name, value);
        }
    }
    if matches!(status, StatusCode::REQUEST_TIMEOUT | StatusCode::PAYLOAD_TOO_LARGE) {
        response.headers_mut().insert(header::CONNECTION, HeaderValue::from_static("close"));
    }
    response
}
