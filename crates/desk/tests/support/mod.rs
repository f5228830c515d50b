//! A desk over a file in memory, and a plain client.
#![allow(dead_code, unreachable_pub)]

use std::io::{self, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use wetrun_desk::{Desk, Files, Stamp};

/// A small site.
pub const SHED: &str = "\
# a shed
wetrun: 1
units: si
name: Shed
storm: { intensity: 90 mm/h, basis: '5 min, 10 years' }
downspouts:
  D1: { outlet: 3.00, lip: 3.05, foot: 0.50 m, pipe: pvc-sch40 4 in }
roofs:
  R1: { area: 60 m2, to: D1 }
lines:
  M1: { from: D1, to: T1, length: 20 m, pipe: pvc-sch40 4 in } # to the tank
tanks:
  T1: { inlet: 2.00 }
";

/// A file in memory, with what a disk can do to it.
#[derive(Default)]
pub struct Memory {
    inside: Mutex<Inside>,
}

#[derive(Default)]
struct Inside {
    file: Option<Vec<u8>>,
    kept: Option<Vec<u8>>,
    stamp: u64,
    written: usize,
    read_only: bool,
}

impl Memory {
    pub fn new(text: &str) -> Self {
        let memory = Self::default();
        memory.put(Some(text.as_bytes()));
        memory
    }

    /// Somebody else writes the file, or takes it away.
    pub fn put(&self, bytes: Option<&[u8]>) {
        let mut inside = self.inside.lock().unwrap();
        inside.file = bytes.map(<[u8]>::to_vec);
        inside.stamp += 1;
    }

    pub fn text(&self) -> String {
        String::from_utf8(self.inside.lock().unwrap().file.clone().unwrap()).unwrap()
    }

    pub fn kept_text(&self) -> Option<String> {
        let kept = self.inside.lock().unwrap().kept.clone();
        kept.map(|kept| String::from_utf8(kept).unwrap())
    }

    pub fn leave(&self, text: &str) {
        self.inside.lock().unwrap().kept = Some(text.as_bytes().to_vec());
    }

    pub fn written(&self) -> usize {
        self.inside.lock().unwrap().written
    }

    pub fn read_only(&self, yes: bool) {
        self.inside.lock().unwrap().read_only = yes;
    }
}

impl Files for Memory {
    fn name(&self) -> String {
        "shed.yaml".to_owned()
    }

    fn read(&self) -> io::Result<Option<Vec<u8>>> {
        Ok(self.inside.lock().unwrap().file.clone())
    }

    fn stamp(&self) -> Stamp {
        let inside = self.inside.lock().unwrap();
        inside.file.as_ref().map(|_| [inside.stamp, 0, 0])
    }

    fn write(&self, bytes: &[u8]) -> io::Result<()> {
        let mut inside = self.inside.lock().unwrap();
        if inside.read_only {
            return Err(io::Error::from(io::ErrorKind::PermissionDenied));
        }
        inside.file = Some(bytes.to_vec());
        inside.stamp += 1;
        inside.written += 1;
        Ok(())
    }

    fn is_new(&self) -> bool {
        false
    }

    fn days(&self) -> io::Result<Option<(String, String)>> {
        Ok(None)
    }

    fn kept(&self) -> io::Result<Option<Vec<u8>>> {
        Ok(self.inside.lock().unwrap().kept.clone())
    }

    fn keep(&self, bytes: Option<&[u8]>) -> io::Result<()> {
        self.inside.lock().unwrap().kept = bytes.map(<[u8]>::to_vec);
        Ok(())
    }
}

/// A desk that serves until the test ends.
pub struct Running {
    pub address: SocketAddr,
    pub secret: String,
    pub files: Arc<Memory>,
}

/// A desk over the shed, which waits for nobody longer than a moment.
pub fn running() -> Running {
    over(Arc::new(Memory::new(SHED)))
}

/// A desk over a file.
pub fn over(files: Arc<Memory>) -> Running {
    let desk = Desk::open(Arc::clone(&files) as Arc<dyn Files>, 0).unwrap();
    let desk = desk.patience(Duration::from_millis(1500));
    let address = desk.address();
    let (place, secret) = address.strip_prefix("http://").unwrap().split_once("/#").unwrap();
    let running = Running { address: place.parse().unwrap(), secret: secret.to_owned(), files };
    std::thread::spawn(move || desk.run());
    running
}

/// What came back; status 0 where the connection was closed without a word.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Answer {
    pub fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().find_map(|line| {
            let (key, value) = line.split_once(':')?;
            key.eq_ignore_ascii_case(name).then(|| value.trim())
        })
    }
}

impl Running {
    pub fn host(&self) -> String {
        self.address.to_string()
    }

    pub fn port(&self) -> u16 {
        self.address.port()
    }

    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        stream
    }

    /// Sends bytes and reads one answer.
    pub fn send(&self, bytes: &[u8]) -> Answer {
        let mut stream = self.connect();
        // The other side may close before all is sent.
        let _ = stream.write_all(bytes);
        let mut told = Vec::new();
        let mut piece = [0; 1 << 16];
        while !whole(&told) {
            match stream.read(&mut piece) {
                Ok(0) | Err(_) => break,
                Ok(count) => told.extend_from_slice(&piece[..count]),
            }
        }
        let told = String::from_utf8_lossy(&told);
        let (head, body) = told.split_once("\r\n\r\n").unwrap_or((&told, ""));
        let status = head.split(' ').nth(1).and_then(|word| word.parse().ok()).unwrap_or(0);
        Answer { status, head: head.to_owned(), body: body.to_owned() }
    }

    /// A call as the page makes it.
    pub fn call(&self, name: &str, body: &str) -> Answer {
        let asked = format!(
            "POST /{name} HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nX-Wetrun-Secret: {1}\r\n\
             Content-Type: application/json\r\nContent-Length: {2}\r\n\r\n{body}",
            self.host(),
            self.secret,
            body.len()
        );
        self.send(asked.as_bytes())
    }
}

fn whole(told: &[u8]) -> bool {
    let told = String::from_utf8_lossy(told);
    let Some((head, body)) = told.split_once("\r\n\r\n") else { return false };
    let length = head.lines().find_map(|line| {
        let (key, value) = line.split_once(':')?;
        key.eq_ignore_ascii_case("content-length").then(|| value.trim().parse::<usize>().ok())?
    });
    length.is_some_and(|length| body.len() >= length)
}
