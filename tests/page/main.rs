//! The bench page's server as the built program runs it: what it answers, and what it refuses.

mod asked;
mod lasting;

use asked::{Page, Reply};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

const SAMPLE: &str = include_str!("../../examples/ash-flatbow.toml");

fn json(reply: &Reply) -> serde_json::Value {
    assert_eq!(reply.status, 200, "{}", reply.body);
    serde_json::from_str(&reply.body).unwrap_or_else(|e| panic!("{e}: {}", reply.body))
}

fn change(text: &str, set: serde_json::Value) -> String {
    serde_json::json!({ "text": text, "set": set }).to_string()
}

#[test]
fn the_page_itself_holds_nothing_of_the_maker_and_fetches_nothing() {
    let page = Page::start(&[]);
    for (path, file) in [
        ("/", include_str!("../../src/page/page.html")),
        ("/page.css", include_str!("../../src/page/page.css")),
        ("/figure.js", include_str!("../../src/page/figure.js")),
        ("/page.js", include_str!("../../src/page/page.js")),
    ] {
        let reply = page.get(path);
        assert_eq!(reply.status, 200);
        assert_eq!(reply.body, file, "{path}");
        assert!(!reply.body.contains(&page.key));
        // Only the name of the SVG namespace looks like an address, and no markup is made from text.
        assert_eq!(file.matches("://").count(), file.matches("http://www.w3.org/2000/svg").count(), "{path}");
        for way in ["innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "style=", "onclick="] {
            assert!(!file.contains(way), "{path} has {way}");
        }
        let policy = reply.header("content-security-policy").expect("a policy");
        assert!(
            policy.contains("default-src 'none'") && !policy.contains("unsafe") && !policy.contains('*'),
            "{policy}"
        );
        assert_eq!(reply.header("x-content-type-options"), Some("nosniff"));
        assert_eq!(reply.header("cache-control"), Some("no-store"));
        assert!(!reply.head.to_lowercase().contains("access-control"), "{}", reply.head);
    }
}

#[test]
fn foreign_hosts_origins_and_keys_are_refused() {
    let page = Page::start(&[]);
    let host = page.host.clone();
    let origin = format!("http://{host}");
    let body = change(SAMPLE, serde_json::Value::Null);
    let post = |headers: &[(&str, &str)]| page.send("POST", "/change", headers, body.as_bytes()).status;
    let key = ("x-nockwright-key", page.key.as_str());
    assert_eq!(post(&[("Host", &host), ("Origin", &origin), key]), 200);
    assert_eq!(post(&[("Host", "evil.example"), ("Origin", &origin), key]), 421);
    assert_eq!(post(&[("Host", &host.replace("127.0.0.1", "localhost")), ("Origin", &origin), key]), 421);
    assert_eq!(post(&[("Host", &host), ("Origin", "http://evil.example"), key]), 403);
    assert_eq!(post(&[("Host", &host), ("Origin", "null"), key]), 403);
    assert_eq!(post(&[("Host", &host), key]), 403);
    assert_eq!(post(&[("Host", &host), ("Origin", &origin)]), 401);
    assert_eq!(post(&[("Host", &host), ("Origin", &origin), ("x-nockwright-key", "0")]), 401);
    assert_eq!(post(&[("Host", &host), ("Origin", &origin), key, ("Sec-Fetch-Site", "cross-site")]), 403);
    for method in ["OPTIONS", "PUT", "DELETE", "PATCH", "HEAD", "TRACE"] {
        let reply = page.send(method, "/change", &[("Host", &host), ("Origin", &origin), key], b"");
        assert_eq!(reply.status, 405, "{method}");
        assert!(!reply.head.to_lowercase().contains("access-control"));
    }
    // Another run has another key.
    assert_ne!(Page::start(&[]).key, page.key);
}

#[test]
fn large_bodies_are_refused_before_they_are_read() {
    let page = Page::start(&[]);
    for path in ["/change", "/steps", "/loop", "/beside", "/sheets", "/report", "/recover", "/save", "/start"] {
        let mut stream = page.connect();
        write!(stream, "POST {path} HTTP/1.1\r\n{}Content-Length: 52428800\r\n\r\n", page.pass()).unwrap();
        assert_eq!(Reply::read(stream).status, 413, "{path}");
    }
    // One that does not say how long it is, is cut off when it is too long.
    let mut stream = page.connect();
    write!(stream, "POST /change HTTP/1.1\r\n{}Transfer-Encoding: chunked\r\n\r\n", page.pass()).unwrap();
    let chunk = vec![b'x'; 1 << 20];
    let mut sent = 0;
    for _ in 0..50 {
        if write!(stream, "100000\r\n")
            .and_then(|()| stream.write_all(&chunk))
            .and_then(|()| write!(stream, "\r\n"))
            .is_err()
        {
            break;
        }
        sent += 1;
    }
    assert!(sent < 50, "all of 50 MB was taken");
    assert_eq!(page.get("/").status, 200);
}

#[test]
fn slow_clients_are_cut_off_and_keep_nobody_waiting() {
    let page = Page::start(&[]);
    let started = Instant::now();
    let mut slow: Vec<TcpStream> = (0..150)
        .map(|k| {
            let mut stream = page.connect();
            write!(stream, "GET / HTTP/1.1\r\nHost: {}\r\nX-Slow-{k}: ", page.host).unwrap();
            stream
        })
        .collect();
    // Bodies that do not come.
    for _ in 0..20 {
        let mut stream = page.connect();
        write!(stream, "POST /change HTTP/1.1\r\n{}Content-Length: 1000\r\n\r\n{{", page.pass()).unwrap();
        slow.push(stream);
    }
    for _ in 0..3 {
        let asked = Instant::now();
        let reply = page.post("/change", &change(SAMPLE, serde_json::Value::Null));
        assert!(json(&reply)["figure"].is_object());
        assert!(asked.elapsed() < Duration::from_secs(4), "{:?}", asked.elapsed());
        for stream in slow.iter_mut().take(150) {
            let _ = stream.write_all(b"a");
        }
    }
    let mut first = slow.swap_remove(0);
    first.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    let mut rest = Vec::new();
    // Cut off: the end of the stream or a reset, never a time-out of ours.
    if let Err(error) = first.read_to_end(&mut rest) {
        assert_eq!(error.kind(), std::io::ErrorKind::ConnectionReset, "{error}");
    }
    assert!(started.elapsed() < Duration::from_secs(20), "{:?}", started.elapsed());
}

#[test]
fn a_long_job_does_not_keep_a_change_waiting() {
    let page = Page::start(&[]);
    // Several straight grooves are followed one after the other; changes pass them by.
    let body = serde_json::json!({ "text": SAMPLE }).to_string();
    let mut waiting: Vec<TcpStream> = (0..4).map(|_| page.connect()).collect();
    for stream in &mut waiting {
        write!(stream, "POST /beside HTTP/1.1\r\n{}Content-Length: {}\r\n\r\n{body}", page.pass(), body.len()).unwrap();
    }
    std::thread::sleep(Duration::from_millis(100));
    let asked = Instant::now();
    assert!(json(&page.post("/change", &change(SAMPLE, serde_json::Value::Null)))["figure"].is_object());
    let passed = asked.elapsed();
    for stream in waiting {
        assert!(json(&Reply::read(stream))["plots"].is_object());
    }
    assert!(passed < asked.elapsed() / 2, "{passed:?} of {:?}", asked.elapsed());
}

#[test]
fn the_page_shows_the_programs_own_marks_and_tally() {
    let page = Page::start(&[]);
    let body = serde_json::json!({ "text": format!("{SAMPLE}\n[strength]\nshock_factor = 5\n") }).to_string();
    let said = json(&page.post("/loop", &body));
    let shot = said["checks"].as_array().unwrap().iter().find(|c| c["id"] == "string_bearing_shot").unwrap();
    assert_eq!((&shot["verdict"], &shot["mark"]), (&"wears".into(), &"wears".into()), "{shot}");
    assert!(said["tally"].as_str().unwrap().ends_with("1 past a limit of wear, 0 fail"), "{}", said["tally"]);
    // The page's script makes no words of its own for verdicts.
    let script = page.get("/page.js");
    let script = script.body;
    assert!(script.contains("check.mark") && script.contains("loop.tally") && !script.contains("FAILS"));
}

#[test]
fn no_address_reaches_a_file() {
    let page = Page::start(&[]);
    for path in [
        "/../../../../etc/passwd",
        "//etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/..%2f..%2fetc%2fpasswd",
        "/page.css/../../../../etc/passwd",
        "/page.js%00.html",
        "/src/page/page.html",
        "/\\..\\..\\windows\\win.ini",
        "/start",
        "*",
        "http://evil.example/etc/passwd",
        "/.git/config",
        "/Cargo.toml",
    ] {
        let reply = page.get(path);
        assert!(matches!(reply.status, 400 | 403 | 404 | 421), "{path}: {}", reply.status);
        assert!(!reply.body.contains("root:") && reply.body.len() < 200, "{path}: {}", reply.body);
    }
    // What is saved and made takes no name from the browser.
    for (path, body) in [
        ("/save", r#"{"text": "x", "path": "/tmp/x"}"#),
        ("/sheets", r#"{"text": "x", "paper": "A4", "format": "pdf", "out": "/tmp"}"#),
        ("/sheets", r#"{"text": "x", "paper": "../A4", "format": "pdf"}"#),
        ("/sheets", r#"{"text": "x", "paper": "A4", "format": "/etc/passwd"}"#),
        ("/save", r#"{"text": "x"}"#),
        ("/change", "{"),
        ("/change", "\u{0}"),
    ] {
        assert_eq!(page.post(path, body).status, 400, "{path} {body}");
    }
}

#[test]
fn markup_in_every_text_field_stays_text() {
    let page = Page::start(&[]);
    let evil = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'&";
    let first = json(&page.post("/change", &change(SAMPLE, serde_json::Value::Null)));
    let mut keys = Vec::new();
    for group in first["groups"].as_array().unwrap() {
        let rows = group["lists"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|l| l["rows"].as_array().unwrap())
            .flat_map(|r| r.as_array().unwrap());
        keys.extend(
            group["fields"].as_array().unwrap().iter().chain(rows).map(|f| f["key"].as_str().unwrap().to_owned()),
        );
    }
    assert!(keys.len() > 60, "{}", keys.len());
    for key in keys {
        let reply = page.post("/change", &change(SAMPLE, serde_json::json!({ "key": key, "value": evil })));
        assert_eq!(reply.header("content-type"), Some("application/json"));
        let answer = json(&reply);
        let shown = answer["groups"].to_string();
        let text = answer["text"].as_str().unwrap();
        if text == SAMPLE {
            // A list's second end cannot come before its first.
            assert!(!answer["faults"].as_array().unwrap().is_empty(), "{key}");
        } else {
            assert!(shown.contains("<script>alert(1)</script>"), "{key} does not show what was typed");
        }
    }
    let named = SAMPLE.replace("name          = \"Ash flatbow\"", "name = '<script>alert(1)</script>'");
    let answer = json(&page.post("/change", &change(&named, serde_json::Value::Null)));
    assert_eq!(answer["name"], "<script>alert(1)</script>");
    assert!(answer["figure"].is_object());
    let files = json(&page.post("/report", &serde_json::json!({ "text": named }).to_string()));
    assert_eq!(files["files"][0]["name"], "script-alert-1-script-report.html");
}

#[test]
fn faults_point_at_field_line_and_column() {
    let page = Page::start(&[]);
    let answer = json(
        &page
            .post("/change", &change(SAMPLE, serde_json::json!({ "key": "limb.stations[1].width", "value": "1 5/8" }))),
    );
    assert!(answer["figure"].is_null());
    assert_eq!(answer["faults"].as_array().unwrap().len(), 1);
    let fault = &answer["faults"][0];
    assert_eq!(fault["field"], "limb.stations[1].width");
    let line = SAMPLE.lines().position(|l| l.contains("\"20 in\"")).unwrap() + 1;
    assert_eq!(fault["line"], line);
    let text = answer["text"].as_str().unwrap();
    let (from, to) = (fault["from"].as_u64().unwrap() as usize, fault["to"].as_u64().unwrap() as usize);
    assert_eq!(&text[from..to], "1 5/8");
    // A fault that only the nock finds stands beside its field as well.
    let set = serde_json::json!({ "key": "nock.groove_depth", "value": "5 mm" });
    let answer = json(&page.post("/change", &change(SAMPLE, set)));
    assert!(answer["figure"].is_null());
    let faults = answer["faults"].as_array().unwrap();
    assert!(faults.iter().any(|f| f["field"] == "nock.groove_depth"), "{faults:?}");
    // Required, and taken out: it is asked for at its field.
    let answer = json(&page.post("/change", &change(SAMPLE, serde_json::json!({ "key": "bow.length", "value": "" }))));
    assert!(answer["faults"].as_array().unwrap().iter().any(|f| f["field"] == "bow.length"), "{}", answer["faults"]);
}

#[test]
fn faults_of_lists_and_rows_stand_beside_them() {
    let page = Page::start(&[]);
    let (head, rest) = SAMPLE.split_once("stations").unwrap();
    let after = &rest[rest.find("\n]").unwrap() + 2..];
    let stations = |list: &str| format!("{head}stations = {list}{after}");
    let bow = |line: &str| SAMPLE.replacen("[bow]\n", &format!("[bow]\n{line}\n"), 1);
    let limb = |line: &str| SAMPLE.replacen("[limb]\n", &format!("[limb]\n{line}\n"), 1);
    let with = |tail: &str| format!("{SAMPLE}\n{tail}\n");
    for (text, field) in [
        (stations("[]"), "limb.stations"),
        (stations("\"wide\""), "limb.stations"),
        (stations("[1, 2]"), "limb.stations[0].at"),
        (limb("unstrung = 3"), "limb.unstrung"),
        (limb("stiffness = [\"soft\"]"), "limb.stiffness[0].at"),
        (limb("stiffness = [{ at = \"20 in\", factor = 9 }]"), "limb.stiffness[0].factor"),
        (limb("stiffness = [{ at = \"20 in\" }]"), "limb.stiffness[0].factor"),
        (bow("scale = [\"30 lb\"]"), "bow.scale[0]"),
        (bow("scale = \"30 lb\""), "bow.scale"),
        (with("[tiller]\nmeasured = 3"), "tiller.measured"),
        (
            with("[tiller]\nmeasured = [{ limb = \"left\", at = \"20 in\", distance = \"4 in\" }]"),
            "tiller.measured[0].limb",
        ),
        (
            with("[tiller]\nmeasured = [{ limb = \"upper\", at = \"20 in\", distance = \"4 in\", x = 1 }]"),
            "tiller.measured",
        ),
        (with("[upper.limb]\nlength = 3"), "upper.limb.length"),
    ] {
        assert_ne!(text, SAMPLE);
        let answer = json(&page.post("/change", &change(&text, serde_json::Value::Null)));
        let faults = answer["faults"].as_array().unwrap();
        assert!(!faults.is_empty(), "{field}: taken");
        assert!(faults.iter().any(|f| f["field"] == field), "{field}: {faults:#?}");
        assert!(faults.iter().all(|f| !f["field"].is_null()), "{field}: {faults:#?}");
    }
}

#[test]
fn rows_are_put_into_every_list_and_taken_out_again() {
    let page = Page::start(&[]);
    let set = |text: &str, list: &str, row: Option<usize>, take: bool| {
        let set = serde_json::json!({ "list": list, "row": row, "take": take });
        json(&page.post("/change", &change(text, set)))
    };
    let rows = |answer: &serde_json::Value, list: &str| {
        let mut lists = answer["groups"].as_array().unwrap().iter().flat_map(|g| g["lists"].as_array().unwrap());
        lists.find(|l| l["key"] == list).map_or(0, |l| l["rows"].as_array().unwrap().len())
    };
    for list in ["limb.stiffness", "bow.scale", "tiller.measured"] {
        let first = set(SAMPLE, list, None, false);
        let text = first["text"].as_str().unwrap();
        assert_eq!(rows(&first, list), 1, "{list}: {text}");
        let second = set(text, list, Some(0), false);
        assert_eq!(rows(&second, list), 2, "{list}");
        // What only a maker knows is asked for at a field of the row.
        let asked = second["faults"].as_array().unwrap();
        assert!(asked.iter().all(|f| f["field"].as_str().is_some_and(|f| f.starts_with(list))), "{list}: {asked:#?}");
        let less = set(second["text"].as_str().unwrap(), list, Some(1), true);
        assert_eq!(less["text"], text, "{list}");
        let none = set(text, list, Some(0), true);
        assert_eq!(rows(&none, list), 0);
        assert!(none["figure"].is_object(), "{list}: {}", none["faults"]);
    }
    // Between two stations a new one changes nothing in the limb's line.
    let more = set(SAMPLE, "limb.stations", Some(0), false);
    assert_eq!(rows(&more, "limb.stations"), 4);
    assert_eq!(set(more["text"].as_str().unwrap(), "limb.stations", Some(1), true)["text"], SAMPLE);
    for (list, row) in [("limb.stations", 9), ("limb.stations", 2), ("bow.draw", 0), ("x", 0), ("../x", 0)] {
        let refused = set(SAMPLE, list, Some(row), false);
        assert_eq!(refused["text"], SAMPLE, "{list}");
        assert_eq!(refused["faults"].as_array().unwrap().len(), 1, "{list}");
    }
}

#[test]
fn a_slider_writes_the_measure_it_shows() {
    let page = Page::start(&[]);
    let set = serde_json::json!({ "key": "bow.brace_height", "step": "in/16", "at": 104 });
    let answer = json(&page.post("/change", &change(SAMPLE, set)));
    assert_eq!(answer["text"], SAMPLE.replace("= \"6 1/4 in\"", "= \"6 1/2 in\""));
    assert!(answer["figure"].is_object());
}

#[test]
fn saving_goes_to_the_design_file_alone_and_spares_foreign_changes() {
    let folder = std::env::temp_dir().join(format!("nockwright-page-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("bow.toml");
    std::fs::write(&file, SAMPLE).unwrap();
    let page = Page::start(&[file.to_str().unwrap()]);
    let start = json(&page.post("/start", "{}"));
    assert_eq!((start["text"].as_str(), start["saves"].as_bool()), (Some(SAMPLE), Some(true)));
    let text = SAMPLE.replace("28 in", "27 in");
    let save = |text: &str, before: &str, over: bool| {
        let asked = serde_json::json!({ "text": text, "before": before, "over": over });
        json(&page.post("/save", &asked.to_string()))["saved"].as_bool().unwrap()
    };
    assert!(save(&text, SAMPLE, false));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
    // A second page that read the file before the first one saved it.
    assert!(!save("second page", SAMPLE, false));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
    // Another program; then knowingly over it.
    std::fs::write(&file, "changed elsewhere").unwrap();
    assert!(!save(SAMPLE, &text, false));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "changed elsewhere");
    assert!(save(SAMPLE, &text, true));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), SAMPLE);
    let names: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(names.len(), 1, "{names:?}");
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_design_comes_back_from_a_sheet() {
    let page = Page::start(&[]);
    let sheet = std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/templates-out/ash-flatbow-a4.pdf")).unwrap();
    let host = page.host.clone();
    let origin = format!("http://{host}");
    let headers = [("Host", host.as_str()), ("Origin", origin.as_str()), ("x-nockwright-key", page.key.as_str())];
    let found = json(&page.send("POST", "/recover", &headers, &sheet));
    assert_eq!(found["designs"][0]["text"], SAMPLE);
    let found = json(&page.send("POST", "/recover", &headers, b"<html>"));
    assert!(!found["refused"].as_str().unwrap().is_empty());
}

#[test]
fn no_slider_leads_where_the_design_cannot_follow() {
    let page = Page::start(&[]);
    let answer = json(&page.post("/change", &serde_json::json!({ "text": SAMPLE }).to_string()));
    let slider = |key: &str| {
        let groups = answer["groups"].as_array().unwrap();
        let mut fields = groups.iter().flat_map(|group| group["fields"].as_array().unwrap());
        fields.find(|field| field["key"] == key).unwrap_or_else(|| panic!("{key}"))["slider"].clone()
    };
    // The sample is rounded, serves 6 to 6 3/4 in and draws of 26 to 29 in, in sixteenths and quarters.
    assert!(slider("limb.corner").is_object());
    assert!(slider("limb.belly_width").is_null() && slider("tiller.places").is_null());
    let brace = slider("bow.brace_height");
    assert_eq!(
        (brace["step"].as_str(), brace["least"].as_i64(), brace["most"].as_i64()),
        (Some("in/16"), Some(96), Some(108))
    );
    let draw = slider("bow.draw");
    assert_eq!(
        (draw["step"].as_str(), draw["least"].as_i64(), draw["most"].as_i64()),
        (Some("in/4"), Some(104), Some(116))
    );
}
