//! Asks the server over a plain connection, so that nothing is made proper on the way.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// A running page; it ends with this value.
pub struct Page {
    child: Child,
    pub host: String,
    pub key: String,
}

impl Page {
    /// Starts the built program on a free port.
    pub fn start(arguments: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_nockwright"))
            .args(["page", "--port", "0", "--no-browser"])
            .args(arguments)
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let mut lines = BufReader::new(child.stderr.take().expect("its words")).lines();
        let line = lines.next().expect("an address").expect("text");
        // The rest of its words is read so that it can say them.
        std::thread::spawn(move || lines.for_each(drop));
        let address = line.split("http://").nth(1).unwrap_or_else(|| panic!("{line}"));
        let (host, key) = address.trim().split_once("/#").unwrap_or_else(|| panic!("{line}"));
        Page { child, host: host.to_owned(), key: key.to_owned() }
    }

    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.host).expect("a connection");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("a time-out");
        stream
    }

    /// The header lines of a request that is let pass.
    pub fn pass(&self) -> String {
        format!("Host: {0}\r\nOrigin: http://{0}\r\nX-Nockwright-Key: {1}\r\n", self.host, self.key)
    }

    pub fn get(&self, path: &str) -> Reply {
        self.send("GET", path, &[("Host", &self.host)], b"")
    }

    pub fn post(&self, path: &str, body: &str) -> Reply {
        let origin = format!("http://{}", self.host);
        self.send(
            "POST",
            path,
            &[("Host", &self.host), ("Origin", &origin), ("X-Nockwright-Key", &self.key)],
            body.as_bytes(),
        )
    }

    pub fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Reply {
        let mut stream = self.connect();
        let mut head = format!("{method} {path} HTTP/1.1\r\n");
        for (name, value) in headers {
            head += &format!("{name}: {value}\r\n");
        }
        head += &format!("Content-Length: {}\r\n\r\n", body.len());
        stream.write_all(head.as_bytes()).expect("sent");
        // A refusal may come before the body is taken.
        let _ = stream.write_all(body);
        Reply::read(stream)
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer.
pub struct Reply {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Reply {
    pub fn read(mut stream: TcpStream) -> Self {
        let mut bytes = Vec::new();
        // A reset after the answer is no matter.
        let _ = stream.read_to_end(&mut bytes);
        let text = String::from_utf8(bytes).expect("text");
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status =
            head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or_else(|| panic!("no answer: {text:?}"));
        Reply { status, head: head.to_owned(), body: body.to_owned() }
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        let lines = self.head.lines().filter_map(|l| l.split_once(": "));
        lines.filter(|(n, _)| n.eq_ignore_ascii_case(name)).map(|(_, v)| v).next()
    }
}
