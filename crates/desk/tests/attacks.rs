//! Who may not come in: every attack on a local server that a page, a program or a crowd could try.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::time::{Duration, Instant};
use support::{Answer, Running, SHED, running};

/// A call as the page itself makes it, with some headers changed: `None` leaves one out.
fn call(desk: &Running, changes: &[(&str, Option<&str>)], name: &str, body: &str) -> Answer {
    let host = desk.host();
    let origin = format!("http://{host}");
    let mut headers = vec![
        ("Host", host.as_str()),
        ("Origin", origin.as_str()),
        ("Sec-Fetch-Site", "same-origin"),
        ("Content-Type", "application/json"),
        ("X-Wetrun-Secret", desk.secret.as_str()),
    ];
    for (name, value) in changes {
        headers.retain(|(known, _)| !known.eq_ignore_ascii_case(name));
        headers.extend(value.map(|value| (*name, value)));
    }
    let mut head = format!("POST /{name} HTTP/1.1\r\n");
    for (name, value) in headers {
        head.push_str(&format!("{name}: {value}\r\n"));
    }
    head.push_str(&format!("Content-Length: {}\r\n\r\n{body}", body.len()));
    desk.send(head.as_bytes())
}

const LOOK: &str = "{\"view\":{}}";

/// Refused, and no word about the file.
fn refused(answer: &Answer, status: u16, what: &str) {
    assert_eq!(answer.status, status, "{what}: {}", answer.body);
    assert!(answer.body.len() < 4 && !answer.head.contains("Shed"), "{what}: {}", answer.body);
}

#[test]
fn the_page_itself_is_answered() {
    let desk = running();
    let answer = call(&desk, &[], "open", LOOK);
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert!(answer.body.contains("Shed") && answer.body.contains("inlet: 2.00"));
    // Either of the two headers is enough, as browsers differ in what they send.
    for absent in ["Origin", "Sec-Fetch-Site"] {
        assert_eq!(call(&desk, &[(absent, None)], "look", LOOK).status, 200, "{absent}");
    }
}

#[test]
fn without_the_secret_there_is_the_bare_page_and_nothing_else() {
    let desk = running();
    let half = &desk.secret[..desk.secret.len() / 2];
    let longer = format!("{}0", desk.secret);
    let other = desk.secret.chars().rev().collect::<String>();
    for wrong in [None, Some(""), Some(half), Some(&longer), Some(&other), Some("0")] {
        for name in ["open", "look", "save", "undo", "nothing", "..", "desk.js", "site.yaml"] {
            let answer = call(&desk, &[("X-Wetrun-Secret", wrong)], name, LOOK);
            refused(&answer, 403, &format!("{name} with {wrong:?}"));
        }
    }
    for target in ["/open", "/?x", "/index.html", "/desk.js", "/favicon.ico", "//", "/site.yaml"] {
        let asked = format!("GET {target} HTTP/1.1\r\nHost: {}\r\n\r\n", desk.host());
        refused(&desk.send(asked.as_bytes()), 403, target);
    }
    // The secret in a path, a query or a cookie is none.
    let secret = &desk.secret;
    for target in [format!("/{secret}"), format!("/?{secret}"), format!("/open?secret={secret}")] {
        let asked = format!("GET {target} HTTP/1.1\r\nHost: {}\r\n\r\n", desk.host());
        refused(&desk.send(asked.as_bytes()), 403, "secret in the target");
    }
    let cookie = format!("X-Wetrun-Secret={secret}");
    let cookie = [("X-Wetrun-Secret", None), ("Cookie", Some(cookie.as_str()))];
    refused(&call(&desk, &cookie, "look", LOOK), 403, "secret in a cookie");
}

#[test]
fn the_bare_page_says_nothing_and_lets_nothing_in() {
    let desk = running();
    let page = desk.send(format!("GET / HTTP/1.1\r\nHost: {}\r\n\r\n", desk.host()).as_bytes());
    assert_eq!(page.status, 200);
    for word in ["Shed", "shed.yaml", "inlet: 2.00", &desk.secret] {
        assert!(!page.body.contains(word) && !page.head.contains(word), "{word}");
    }
    let policy = page.header("content-security-policy").unwrap();
    for rule in [
        "default-src 'none'",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
        "require-trusted-types-for 'script'",
    ] {
        assert!(policy.contains(rule), "{policy}");
    }
    for rule in ["unsafe", "http:", "https:", "*", "blob:"] {
        assert!(!policy.contains(rule), "{policy}");
    }
    let answer = call(&desk, &[], "look", LOOK);
    for answer in [&page, &answer] {
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"));
        assert_eq!(answer.header("x-frame-options"), Some("DENY"));
        assert_eq!(answer.header("cache-control"), Some("no-store"));
        assert_eq!(answer.header("referrer-policy"), Some("no-referrer"));
        assert_eq!(answer.header("cross-origin-resource-policy"), Some("same-origin"));
        assert!(!answer.head.to_lowercase().contains("access-control"), "{}", answer.head);
        assert!(!answer.head.to_lowercase().contains("set-cookie"), "{}", answer.head);
    }
    // In a frame, or as anything but a document, it is not handed out at all.
    for dest in ["iframe", "frame", "embed", "object", "script", "image", "style", "empty"] {
        let asked =
            format!("GET / HTTP/1.1\r\nHost: {}\r\nSec-Fetch-Dest: {dest}\r\n\r\n", desk.host());
        refused(&desk.send(asked.as_bytes()), 403, dest);
    }
}

#[test]
fn a_rebound_name_is_refused_even_with_the_secret() {
    let desk = running();
    let port = desk.port();
    let hosts = [
        "evil.example".to_owned(),
        format!("evil.example:{port}"),
        format!("127.0.0.1.evil.example:{port}"),
        format!("localhost:{port}"),
        format!("0.0.0.0:{port}"),
        format!("[::1]:{port}"),
        "127.0.0.1".to_owned(),
        "127.0.0.1:1".to_owned(),
        format!("127.0.0.1:{port}0"),
        format!("user@127.0.0.1:{port}"),
        format!("127.1:{port}"),
        String::new(),
    ];
    for host in &hosts {
        let changes = [("Host", Some(host.as_str()))];
        refused(&call(&desk, &changes, "look", LOOK), 403, host);
        let page = format!("GET / HTTP/1.1\r\nHost: {host}\r\n\r\n");
        refused(&desk.send(page.as_bytes()), 403, host);
    }
    refused(&call(&desk, &[("Host", None)], "look", LOOK), 403, "no host");
    refused(&desk.send(b"GET / HTTP/1.0\r\n\r\n"), 403, "HTTP/1.0");
    let twice = format!("GET / HTTP/1.1\r\nHost: {0}\r\nHost: {0}\r\n\r\n", desk.host());
    refused(&desk.send(twice.as_bytes()), 403, "two hosts");
    // A whole address as the target names its own host.
    for target in ["http://evil.example/", &format!("http://{}/", desk.host())] {
        let asked = format!("GET {target} HTTP/1.1\r\nHost: {}\r\n\r\n", desk.host());
        refused(&desk.send(asked.as_bytes()), 403, target);
    }
}

#[test]
fn other_origins_are_refused_even_with_the_secret() {
    let desk = running();
    let host = desk.host();
    let origins = [
        "http://evil.example".to_owned(),
        "null".to_owned(),
        "http://127.0.0.1:1".to_owned(),
        format!("https://{host}"),
        format!("http://localhost:{}", desk.port()),
        format!("http://{host}/"),
        format!("http://{host}.evil.example"),
        "file://".to_owned(),
        String::new(),
    ];
    for origin in &origins {
        // Whatever the other header says.
        for site in [Some("same-origin"), None] {
            let changes = [("Origin", Some(origin.as_str())), ("Sec-Fetch-Site", site)];
            refused(&call(&desk, &changes, "look", LOOK), 403, origin);
        }
    }
    for site in ["cross-site", "same-site", "none", ""] {
        refused(&call(&desk, &[("Sec-Fetch-Site", Some(site))], "look", LOOK), 403, site);
        let changes = [("Sec-Fetch-Site", Some(site)), ("Origin", None)];
        refused(&call(&desk, &changes, "look", LOOK), 403, site);
    }
    let neither = [("Origin", None), ("Sec-Fetch-Site", None)];
    refused(&call(&desk, &neither, "save", LOOK), 403, "neither");
    // What a browser asks first on behalf of another page.
    let asked = format!(
        "OPTIONS /look HTTP/1.1\r\nHost: {host}\r\nOrigin: http://evil.example\r\n\
         Access-Control-Request-Method: POST\r\n\
         Access-Control-Request-Headers: x-wetrun-secret\r\n\r\n"
    );
    let answer = desk.send(asked.as_bytes());
    refused(&answer, 403, "preflight");
    assert!(!answer.head.to_lowercase().contains("access-control"));
}

#[test]
fn a_form_of_another_page_is_no_call() {
    let desk = running();
    for kind in ["application/x-www-form-urlencoded", "multipart/form-data", "text/plain"] {
        // A form cannot send the secret; and if it could, its body would be of no use.
        let form = [
            ("Content-Type", Some(kind)),
            ("X-Wetrun-Secret", None),
            ("Origin", Some("http://evil.example")),
            ("Sec-Fetch-Site", Some("cross-site")),
        ];
        refused(&call(&desk, &form, "save", "a=b"), 403, kind);
        refused(&call(&desk, &[("Content-Type", Some(kind))], "save", LOOK), 415, kind);
    }
    refused(&call(&desk, &[("Content-Type", None)], "save", LOOK), 415, "no kind");
    for method in ["GET", "PUT", "DELETE", "HEAD", "PATCH", "TRACE"] {
        let asked = format!(
            "{method} /look HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\n\
             X-Wetrun-Secret: {1}\r\nContent-Type: application/json\r\n\r\n",
            desk.host(),
            desk.secret
        );
        assert_eq!(desk.send(asked.as_bytes()).status, 405, "{method}");
    }
}

#[test]
fn a_request_names_no_path() {
    let desk = running();
    for name in
        ["../site.yaml", "..%2f..%2fetc%2fpasswd", "etc/passwd", "look/../open", "look?x=1", "LOOK"]
    {
        refused(&call(&desk, &[], name, LOOK), 404, name);
    }
    // Nor does a body: what it does not know it refuses.
    for body in
        ["{\"view\":{},\"path\":\"/etc/passwd\"}", "{\"view\":{\"file\":\"x\"}}", "[]", "", "{"]
    {
        assert_eq!(call(&desk, &[], "save", body).status, 400, "{body}");
    }
    // Keys lead to what a site file may hold, and nowhere else.
    for keys in [
        "[]",
        "[\"../site.yaml\"]",
        "[\"lines\"]",
        "[\"lines\",\"M1\",\"nothing\"]",
        "[\"lines\",\"M9\",\"k\"]",
        "[\"lines\",\"M1\",\"profile\",\"99\",\"level\"]",
        "[\"pipes\",\"x\",\"sizes\",\"y\",\"wall\",\"z\"]",
        "[\"storm\",\"course\",\"0\",\"rain\"]",
    ] {
        for body in [
            format!("{{\"view\":{{}},\"keys\":{keys},\"value\":\"1 m\"}}"),
            format!("{{\"view\":{{\"piece\":{keys}}}}}"),
        ] {
            let name = if body.contains("value") { "put" } else { "look" };
            let answer = call(&desk, &[], name, &body);
            assert_eq!(answer.status, 200, "{name} {body}");
            assert!(
                name == "look" || answer.body.contains("\"refused\""),
                "{body}: {}",
                answer.body
            );
        }
    }
    for body in [
        "{\"view\":{},\"tag\":\"D1\",\"by\":{\"m\":[1e300,0]}}",
        "{\"view\":{},\"tag\":\"D1\",\"by\":{\"m\":[]}}",
    ] {
        assert_eq!(call(&desk, &[], "place", body).status, 400, "{body}");
    }
    assert_eq!(desk.files.written(), 0);
    assert_eq!(desk.files.text(), SHED);
}

#[test]
fn what_is_no_http_is_dropped() {
    let desk = running();
    let long = format!("GET / HTTP/1.1\r\nX: {}\r\n\r\n", "x".repeat(200_000));
    let many: String = (0..500).map(|n| format!("X-{n}: 1\r\n")).collect();
    let many = format!("GET / HTTP/1.1\r\nHost: {}\r\n{many}\r\n", desk.host());
    for bytes in [
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03".as_slice(),
        b"\0\0\0\0\r\n\r\n",
        b"hello\r\n\r\n",
        b"GET / HTTP/9.9\r\n\r\n",
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
        long.as_bytes(),
        many.as_bytes(),
    ] {
        let answer = desk.send(bytes);
        assert!(matches!(answer.status, 0 | 400..=431), "{}", answer.head);
    }
    let host = desk.host();
    for length in ["-1", "+5", "5, 6", "1e3", "99999999999999999999", "0x5"] {
        let asked = format!(
            "POST /look HTTP/1.1\r\nHost: {host}\r\nContent-Length: {length}\r\n\r\n{LOOK}"
        );
        let answer = desk.send(asked.as_bytes());
        assert!(matches!(answer.status, 0 | 400..=431), "{length}: {}", answer.head);
    }
    // A switch to another protocol is not made.
    let asked = format!(
        "GET / HTTP/1.1\r\nHost: {host}\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n\
         Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n\r\n"
    );
    assert_eq!(desk.send(asked.as_bytes()).status, 200);
    assert_eq!(call(&desk, &[], "look", LOOK).status, 200);
}

fn head(desk: &Running, rest: &str) -> String {
    format!(
        "POST /look HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nX-Wetrun-Secret: {1}\r\n\
         Content-Type: application/json\r\n{rest}\r\n",
        desk.host(),
        desk.secret
    )
}

#[test]
fn a_body_is_at_most_64_mb() {
    let desk = running();
    // Told beforehand, it is not even waited for.
    let asked = head(&desk, &format!("Content-Length: {}\r\n", (64 << 20) + 1));
    assert_eq!(desk.send(asked.as_bytes()).status, 413);
    let mut stream = desk.connect();
    stream.write_all(head(&desk, "Transfer-Encoding: chunked\r\n").as_bytes()).unwrap();
    let piece = vec![b' '; 1 << 20];
    let mut sent = 0;
    while sent < 80 {
        let whole = write!(stream, "{:x}\r\n", piece.len())
            .and_then(|()| stream.write_all(&piece))
            .and_then(|()| stream.write_all(b"\r\n"));
        if whole.is_err() {
            break;
        }
        sent += 1;
    }
    assert!(sent < 80, "all of 80 MB was taken");
    let mut told = String::new();
    let _ = stream.read_to_string(&mut told);
    assert!(told.is_empty() || told.contains(" 413 "), "{told}");
    assert_eq!(call(&desk, &[], "look", LOOK).status, 200);
}

#[test]
fn what_stalls_is_dropped() {
    let desk = running();
    let began = Instant::now();
    let half = head(&desk, "Content-Length: 100\r\n") + "{\"view\"";
    let drips = [b"GET / HT".to_vec(), half.into_bytes(), b"".to_vec()];
    let mut streams: Vec<TcpStream> = drips
        .iter()
        .map(|bytes| {
            let mut stream = desk.connect();
            stream.write_all(bytes).unwrap();
            stream
        })
        .collect();
    for stream in &mut streams {
        stream.set_read_timeout(Some(Duration::from_secs(15))).unwrap();
        let mut told = Vec::new();
        // Ends when the other side closes.
        stream.read_to_end(&mut told).unwrap();
        let told = String::from_utf8_lossy(&told).into_owned();
        assert!(told.is_empty() || told.starts_with("HTTP/1.1 408"), "{told}");
    }
    assert!(began.elapsed() < Duration::from_secs(12));
}

#[test]
fn a_crowd_that_says_nothing_harms_nobody() {
    let desk = running();
    let crowd: Vec<TcpStream> = (0..200).map(|_| desk.connect()).collect();
    let began = Instant::now();
    for _ in 0..5 {
        assert_eq!(call(&desk, &[], "look", LOOK).status, 200);
    }
    assert!(began.elapsed() < Duration::from_secs(4), "{:?}", began.elapsed());
    drop(crowd);
}

#[test]
fn nobody_listens_beyond_the_loopback() {
    let desk = running();
    // Every address of 127/8 leads to this machine; only the first is bound.
    let other = SocketAddr::from(([127, 0, 0, 2], desk.port()));
    assert!(TcpStream::connect_timeout(&other, Duration::from_secs(1)).is_err());
    // The same on IPv6, under its own name, where the machine has it.
    let six: SocketAddr = format!("[::1]:{}", desk.port()).parse().unwrap();
    if let Ok(mut stream) = TcpStream::connect_timeout(&six, Duration::from_secs(1)) {
        let asked = format!("GET / HTTP/1.1\r\nHost: {six}\r\nConnection: close\r\n\r\n");
        stream.write_all(asked.as_bytes()).unwrap();
        let mut told = String::new();
        stream.read_to_string(&mut told).unwrap();
        assert!(told.starts_with("HTTP/1.1 200"), "{told}");
    }
}

#[test]
fn two_desks_have_two_secrets() {
    let (one, other) = (running(), running());
    assert_ne!(one.secret, other.secret);
    assert!(one.secret.len() >= 32 && one.secret.chars().all(|c| c.is_ascii_hexdigit()));
    let foreign = [("X-Wetrun-Secret", Some(other.secret.as_str()))];
    refused(&call(&one, &foreign, "look", LOOK), 403, "the other's secret");
}
