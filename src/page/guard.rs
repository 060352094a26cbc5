//! Who may ask: only the page that this run has served, in a browser on this machine.
//!
//! The page is served on 127.0.0.1 to whoever asks, for it holds nothing of the maker's. Everything else needs the run's key,
//! which stands in the address after `#` and so never leaves the browser on its own, and an `Origin` that is the page's own.
//! A foreign site can bring a browser to send requests here, but neither with that key nor from that origin; and a name
//! that is made to point here is not the `Host` that is asked for.

use http_body_util::Full;
use hyper::body::Bytes;
use hyper::header::{HeaderMap, HeaderName, HeaderValue};
use hyper::{Method, Response, StatusCode};

/// The header that carries the key.
pub(super) const KEY: &str = "x-nockwright-key";

/// What may be asked, and by whom.
#[derive(Debug, Clone)]
pub(super) struct Guard {
    host: String,
    origin: String,
    key: String,
}

impl Guard {
    /// A guard for the server on that port of 127.0.0.1.
    pub fn new(port: u16, key: String) -> Self {
        let host = format!("127.0.0.1:{port}");
        Guard { origin: format!("http://{host}"), host, key }
    }

    /// The address to open.
    pub fn address(&self) -> String {
        format!("{}/#{}", self.origin, self.key)
    }

    /// Lets a request pass, or says why not.
    ///
    /// # Errors
    /// The status and the words to refuse with.
    pub fn admit(&self, method: &Method, headers: &HeaderMap) -> Result<(), (StatusCode, &'static str)> {
        let one = |name: &str| {
            let mut all = headers.get_all(name).iter();
            let first = all.next().map(HeaderValue::as_bytes);
            if all.next().is_some() { None } else { first }
        };
        if one("host") != Some(self.host.as_bytes()) {
            return Err((StatusCode::MISDIRECTED_REQUEST, "this is not the address that the page is served at"));
        }
        // A browser says where a request comes from; none is taken from another site.
        if headers.contains_key("sec-fetch-site") && !matches!(one("sec-fetch-site"), Some(b"same-origin" | b"none")) {
            return Err((StatusCode::FORBIDDEN, "requests from other sites are not answered"));
        }
        if headers.contains_key("origin") && one("origin") != Some(self.origin.as_bytes()) {
            return Err((StatusCode::FORBIDDEN, "requests from other sites are not answered"));
        }
        match *method {
            Method::GET => Ok(()),
            Method::POST if one("origin").is_none() => {
                Err((StatusCode::FORBIDDEN, "a change has to say which page it comes from"))
            }
            Method::POST if !one(KEY).is_some_and(|key| same(key, self.key.as_bytes())) => Err((
                StatusCode::UNAUTHORIZED,
                "this page belongs to another run of the program; open the address that is shown now",
            )),
            Method::POST => Ok(()),
            _ => Err((StatusCode::METHOD_NOT_ALLOWED, "only GET and POST are answered")),
        }
    }
}

/// What a lasting connection speaks: this and the run's key, for a browser lets a page say nothing else when it opens one.
pub(super) const SPEAKS: &str = "nockwright.";

impl Guard {
    /// Lets a lasting connection pass that a request asks for, or says why not. The request itself has passed as a GET.
    ///
    /// # Errors
    /// The status and the words to refuse with.
    pub fn admit_lasting(&self, headers: &HeaderMap) -> Result<HeaderValue, (StatusCode, &'static str)> {
        if !headers.contains_key("origin") {
            return Err((StatusCode::FORBIDDEN, "a lasting connection has to say which page it comes from"));
        }
        let mut all = headers.get_all("sec-websocket-protocol").iter();
        let (Some(speaks), None) = (all.next(), all.next()) else {
            return Err((StatusCode::UNAUTHORIZED, "a lasting connection has to show the run's key"));
        };
        match speaks.as_bytes().strip_prefix(SPEAKS.as_bytes()) {
            Some(key) if same(key, self.key.as_bytes()) => Ok(speaks.clone()),
            _ => Err((StatusCode::UNAUTHORIZED, "this page belongs to another run of the program")),
        }
    }
}

/// Compares in a time that does not tell where the first difference is.
fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0, |sum, (x, y)| sum | (x ^ y)) == 0
}

/// A key that cannot be guessed: 128 bits from the operating system, in hexadecimal.
///
/// # Errors
/// When the operating system gives none.
pub(super) fn new_key() -> Result<String, std::io::Error> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes).map_err(std::io::Error::other)?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

/// What the page may do in the browser: its own three files and answers from this server, nothing else from anywhere.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; \
                      base-uri 'none'; form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'";

/// A response with everything that every response carries.
pub(super) fn response(status: StatusCode, kind: &'static str, body: impl Into<Bytes>) -> Response<Full<Bytes>> {
    let mut response = Response::new(Full::new(body.into()));
    *response.status_mut() = status;
    let headers = response.headers_mut();
    for (name, value) in [
        ("content-type", kind),
        ("content-security-policy", POLICY),
        ("x-content-type-options", "nosniff"),
        ("x-frame-options", "DENY"),
        ("referrer-policy", "no-referrer"),
        ("cross-origin-resource-policy", "same-origin"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cache-control", "no-store"),
    ] {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(method: Method, headers: &[(&str, &str)]) -> Option<u16> {
        let guard = Guard::new(4000, "ab".into());
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.append(HeaderName::from_bytes(name.as_bytes()).unwrap(), HeaderValue::from_str(value).unwrap());
        }
        guard.admit(&method, &map).err().map(|(status, _)| status.as_u16())
    }

    #[test]
    fn only_the_page_itself_is_answered() {
        let host = ("host", "127.0.0.1:4000");
        let origin = ("origin", "http://127.0.0.1:4000");
        let key = (KEY, "ab");
        assert_eq!(ask(Method::GET, &[host]), None);
        assert_eq!(ask(Method::POST, &[host, origin, key]), None);
        assert_eq!(ask(Method::GET, &[]), Some(421));
        assert_eq!(ask(Method::GET, &[host, host]), Some(421));
        for foreign in ["localhost:4000", "127.0.0.1", "127.0.0.1:4001", "evil.example", "127.0.0.1:4000.evil.example"]
        {
            assert_eq!(ask(Method::GET, &[("host", foreign)]), Some(421), "{foreign}");
        }
        for foreign in ["null", "http://127.0.0.1:4001", "https://127.0.0.1:4000", "http://evil.example"] {
            assert_eq!(ask(Method::POST, &[host, ("origin", foreign), key]), Some(403), "{foreign}");
        }
        assert_eq!(ask(Method::POST, &[host, key]), Some(403));
        assert_eq!(ask(Method::POST, &[host, origin, origin, key]), Some(403));
        assert_eq!(ask(Method::POST, &[host, origin]), Some(401));
        assert_eq!(ask(Method::POST, &[host, origin, (KEY, "ac")]), Some(401));
        assert_eq!(ask(Method::POST, &[host, origin, (KEY, "abc")]), Some(401));
        assert_eq!(ask(Method::GET, &[host, ("sec-fetch-site", "cross-site")]), Some(403));
        assert_eq!(ask(Method::OPTIONS, &[host]), Some(405));
    }

    #[test]
    fn keys_are_long_and_differ() {
        let (a, b) = (new_key().unwrap(), new_key().unwrap());
        assert_eq!(a.len(), 32);
        assert_ne!(a, b);
    }
}
