//! The lasting connection of a page (RFC 6455), spoken by hand: who may have one, and what it is not good for.

use crate::asked::{Page, Reply};
use crate::{SAMPLE, change};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

/// The lines of a request for one.
fn request(host: &str, origin: Option<&str>, speaks: Option<&str>) -> String {
    let line = |name: &str, value: Option<&str>| value.map_or(String::new(), |v| format!("{name}: {v}\r\n"));
    format!(
        "GET /lasting HTTP/1.1\r\nHost: {host}\r\n{}{}Connection: Upgrade\r\nUpgrade: websocket\r\n\
         Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n",
        line("Origin", origin),
        line("Sec-WebSocket-Protocol", speaks)
    )
}

fn refused(page: &Page, request: &str) -> u16 {
    let mut stream = page.connect();
    stream.write_all(request.as_bytes()).expect("sent");
    Reply::read(stream).status
}

/// An open connection.
struct Lasting(TcpStream);

impl Lasting {
    fn open(page: &Page) -> Self {
        let mut stream = page.connect();
        let (origin, speaks) = (format!("http://{}", page.host), format!("nockwright.{}", page.key));
        stream.write_all(request(&page.host, Some(&origin), Some(&speaks)).as_bytes()).expect("sent");
        let mut head = Vec::new();
        while !head.ends_with(b"\r\n\r\n") {
            let mut byte = [0];
            stream.read_exact(&mut byte).expect("an answer");
            head.push(byte[0]);
        }
        let head = String::from_utf8(head).expect("text");
        assert!(head.starts_with("HTTP/1.1 101 "), "{head}");
        // The answer to the key above is RFC 6455's own example (section 1.3).
        assert!(head.contains("s3pPLMBiTxaQ9kYGzzhZRbK+xOo="), "{head}");
        Lasting(stream)
    }

    /// Sends the head of a text frame of that length, masked with zeros.
    fn head(&mut self, length: u64) -> std::io::Result<()> {
        let mut frame = vec![0x81, 0xff];
        frame.extend(length.to_be_bytes());
        frame.extend([0; 4]);
        self.0.write_all(&frame)
    }

    fn send(&mut self, words: &str) {
        self.head(words.len() as u64).expect("sent");
        self.0.write_all(words.as_bytes()).expect("sent");
    }

    /// The next answer: number, status, words. None when the connection has ended.
    fn next(&mut self) -> Option<(u64, u16, String)> {
        let mut head = [0; 2];
        self.0.read_exact(&mut head).ok()?;
        if head[0] != 0x81 {
            return None;
        }
        let mut length = u64::from(head[1]);
        if length >= 126 {
            let mut long = vec![0; if length == 126 { 2 } else { 8 }];
            self.0.read_exact(&mut long).ok()?;
            length = long.iter().fold(0, |sum, b| sum << 8 | u64::from(*b));
        }
        let mut words = vec![0; usize::try_from(length).expect("a length")];
        self.0.read_exact(&mut words).ok()?;
        let words = String::from_utf8(words).expect("text");
        let (line, rest) = words.split_once('\n').expect("a head");
        let (number, status) = line.split_once(' ').expect("a head");
        Some((number.parse().expect("a number"), status.parse().expect("a number"), rest.to_owned()))
    }
}

#[test]
fn only_the_runs_own_page_has_one() {
    let page = Page::start(&[]);
    let (host, origin, speaks) =
        (page.host.as_str(), format!("http://{}", page.host), format!("nockwright.{}", page.key));
    let ask = |host: &str, origin: Option<&str>, speaks: Option<&str>| refused(&page, &request(host, origin, speaks));
    assert_eq!(ask("evil.example", Some(&origin), Some(&speaks)), 421);
    assert_eq!(ask(&host.replace("127.0.0.1", "localhost"), Some(&origin), Some(&speaks)), 421);
    assert_eq!(ask(host, Some("http://evil.example"), Some(&speaks)), 403);
    assert_eq!(ask(host, Some("null"), Some(&speaks)), 403);
    assert_eq!(ask(host, None, Some(&speaks)), 403);
    assert_eq!(ask(host, Some(&origin), None), 401);
    for foreign in ["nockwright.", "nockwright.0", &page.key, &speaks[..speaks.len() - 1], &format!("{speaks}, x")] {
        assert_eq!(ask(host, Some(&origin), Some(foreign)), 401, "{foreign}");
    }
    // The same without the wish to stay.
    let plain = request(host, Some(&origin), Some(&speaks)).replace("Upgrade: websocket\r\n", "");
    assert_eq!(refused(&page, &plain), 400);
    let old = request(host, Some(&origin), Some(&speaks)).replace("Version: 13", "Version: 8");
    assert_eq!(refused(&page, &old), 400);
}

#[test]
fn it_answers_as_requests_are_answered() {
    let page = Page::start(&[]);
    let mut lasting = Lasting::open(&page);
    let body = change(SAMPLE, serde_json::json!({ "key": "bow.draw", "value": "27 in" }));
    lasting.send(&format!("7 /change\n{body}"));
    let (number, status, words) = lasting.next().unwrap();
    assert_eq!((number, status), (7, 200));
    let mut over_it: serde_json::Value = serde_json::from_str(&words).unwrap();
    let mut over_request: serde_json::Value = serde_json::from_str(&page.post("/change", &body).body).unwrap();
    // Forms are counted.
    assert_ne!(over_it["form"].take(), over_request["form"].take());
    assert_eq!(over_it, over_request);
    // A form that is shown is sent as far as it differs.
    let next =
        serde_json::json!({ "text": over_it["text"], "set": { "key": "bow.draw", "value": "26 in" }, "form": 1 });
    lasting.send(&format!("8 /change\n{next}"));
    let answer: serde_json::Value = serde_json::from_str(&lasting.next().unwrap().2).unwrap();
    assert!(answer["groups"].is_null());
    let keys: Vec<_> = answer["fields"].as_array().unwrap().iter().map(|f| f["key"].as_str().unwrap()).collect();
    assert!(keys.contains(&"bow.draw") && keys.len() < 12, "{keys:?}");
    // All steps of the draw, the one of the answer among them.
    lasting.send(&format!("9 /steps\n{}", serde_json::json!({ "text": answer["text"] })));
    let steps: serde_json::Value = serde_json::from_str(&lasting.next().unwrap().2).unwrap();
    let (count, at) = (answer["figure"]["count"].as_u64().unwrap(), answer["figure"]["at"].as_u64().unwrap());
    assert_eq!(steps.as_array().unwrap().len() as u64, count);
    assert_eq!(steps[at as usize], answer["figure"]["now"]);
}

#[test]
fn no_message_reaches_a_file_or_breaks_it() {
    let page = Page::start(&[]);
    let mut lasting = Lasting::open(&page);
    for (message, number, status) in [
        ("1 /../../etc/passwd\n{}", 1, 404),
        ("2 /page.css\n{}", 2, 404),
        ("3 http://evil.example/change\n{}", 3, 404),
        ("4 /change\n{", 4, 400),
        ("5 /change\n", 5, 400),
        ("6 /sheets\n{\"text\": \"x\", \"paper\": \"A4\", \"format\": \"pdf\", \"out\": \"/tmp\"}", 6, 400),
        ("7 /save\n{\"text\": \"x\", \"path\": \"/tmp/x\"}", 7, 400),
        ("/change", 0, 400),
        ("", 0, 400),
        ("-1 /change\n{}", 0, 400),
    ] {
        lasting.send(message);
        let (of, said, words) = lasting.next().unwrap();
        assert_eq!((of, said), (number, status), "{message}: {words}");
        assert!(!words.contains("root:") && words.len() < 200);
    }
    lasting.send(&format!("9 /start\n{}", "x".repeat(65)));
    assert_eq!(lasting.next().unwrap().1, 413);
}

#[test]
fn a_message_of_50_mb_ends_it_and_a_slow_one_keeps_nobody_waiting() {
    let page = Page::start(&[]);
    let mut large = Lasting::open(&page);
    large.head(50 << 20).unwrap();
    let chunk = vec![b'x'; 1 << 20];
    let sent = (0..50).take_while(|_| large.0.write_all(&chunk).is_ok()).count();
    assert!(sent < 50, "all of 50 MB was taken");
    assert!(large.next().is_none());
    // Messages that do not come to their end.
    let slow: Vec<Lasting> = (0..20)
        .map(|_| {
            let mut lasting = Lasting::open(&page);
            lasting.head(1000).unwrap();
            lasting.0.write_all(b"1 /change\n").unwrap();
            lasting
        })
        .collect();
    let mut quick = Lasting::open(&page);
    let asked = Instant::now();
    quick.send(&format!("1 /change\n{}", change(SAMPLE, serde_json::Value::Null)));
    assert_eq!(quick.next().unwrap().1, 200);
    assert!(asked.elapsed() < Duration::from_secs(4), "{:?}", asked.elapsed());
    // No more of them than there are pages.
    let mut more: Vec<Lasting> = Vec::new();
    let (origin, speaks) = (format!("http://{}", page.host), format!("nockwright.{}", page.key));
    for _ in 0..19 {
        more.push(Lasting::open(&page));
    }
    assert_eq!(refused(&page, &request(&page.host, Some(&origin), Some(&speaks))), 503);
    // A place is free again when one has gone.
    drop(slow);
    let until = Instant::now() + Duration::from_secs(10);
    while refused_or_open(&page, &request(&page.host, Some(&origin), Some(&speaks))) == 503 {
        assert!(Instant::now() < until, "no place came free");
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// The status alone; an opened connection is dropped.
fn refused_or_open(page: &Page, request: &str) -> u16 {
    let mut stream = page.connect();
    stream.write_all(request.as_bytes()).expect("sent");
    let mut head = [0; 12];
    stream.read_exact(&mut head).expect("an answer");
    std::str::from_utf8(&head[9..]).expect("text").parse().expect("a number")
}
