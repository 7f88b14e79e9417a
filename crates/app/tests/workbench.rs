//! `open`: who is let in, what is served, that its numbers are those of `--json`, and that nothing is lost.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use assert_cmd::cargo::cargo_bin;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

/// A server that ends with the test.
struct Server {
    child: Child,
    port: u16,
    token: String,
}

/// What came back.
struct Reply {
    status: u16,
    head: String,
    body: String,
}

impl Reply {
    fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap()
    }

    /// The parts of a stream.
    fn parts(&self) -> Vec<Value> {
        self.body.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }
}

impl Server {
    fn open(folder: &Path, sheet: &[&str]) -> Self {
        let mut child = Command::new(cargo_bin("coilwright"))
            .current_dir(folder)
            .arg("open")
            .args(sheet)
            .arg("--no-browser")
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
        let rest = line.trim().strip_prefix("http://127.0.0.1:").unwrap().strip_suffix('/').unwrap();
        let (port, token) = rest.split_once('/').unwrap();
        Self { child, port: port.parse().unwrap(), token: token.to_owned() }
    }

    fn origin(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    /// A request as it stands, and all that comes back.
    fn raw(&self, request: &str) -> Reply {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        // Who is refused early may find the other end closed.
        let _ = stream.write_all(request.as_bytes());
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        let text = String::from_utf8(bytes).unwrap();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split(' ').nth(1).and_then(|code| code.parse().ok()).unwrap_or(0);
        let chunked = head.to_ascii_lowercase().contains("transfer-encoding: chunked");
        let body = if chunked { unchunked(body) } else { body.to_owned() };
        Reply { status, head: head.to_owned(), body }
    }

    fn request(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Reply {
        let mut request = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        for (name, value) in headers {
            request += &format!("{name}: {value}\r\n");
        }
        request += &format!("Content-Length: {}\r\n\r\n{body}", body.len());
        self.raw(&request)
    }

    fn get(&self, path: &str) -> Reply {
        let host = format!("127.0.0.1:{}", self.port);
        self.request("GET", &format!("/{}/{path}", self.token), &[("Host", &host)], "")
    }

    fn post(&self, path: &str, body: &Value) -> Reply {
        let host = format!("127.0.0.1:{}", self.port);
        let path = format!("/{}/{path}", self.token);
        self.request("POST", &path, &[("Host", &host), ("Origin", &self.origin())], &body.to_string())
    }

    fn end(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.end();
    }
}

/// A body in chunks (RFC 9112, 7.1) as one. Lengths count bytes.
fn unchunked(body: &str) -> String {
    let (mut rest, mut whole) = (body.as_bytes(), Vec::new());
    while let Some(end) = rest.windows(2).position(|two| two == b"\r\n") {
        let length = usize::from_str_radix(std::str::from_utf8(&rest[..end]).unwrap(), 16).unwrap();
        if length == 0 {
            break;
        }
        whole.extend_from_slice(&rest[end + 2..end + 2 + length]);
        rest = &rest[end + 4 + length..];
    }
    String::from_utf8(whole).unwrap()
}

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples")
}

/// An invented air coil: the quickest magnet that has a winding, a field and heat.
const COIL: &str = "sheet = 1\nname = \"coil\"\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm ± 0.1 mm\" # calipers\n\
                    outer_diameter = \"40 mm\"\nlength = \"30 mm\"\nturns = \"500 ± 5\"\n[drive]\ncurrent = \"1 A ± 1 %\"\n";

fn coil() -> (tempfile::TempDir, Server) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("coil.sheet.toml"), COIL).unwrap();
    let server = Server::open(folder.path(), &["coil.sheet.toml"]);
    (folder, server)
}

fn ask(text: &str, set: &[&str], settle: bool) -> Value {
    json!({"text": text, "set": set, "settle": settle, "client": "test", "units": "si"})
}

#[test]
fn only_its_own_page_with_the_key_is_answered_and_nothing_else_may_run() {
    let (_folder, server) = coil();
    let page = server.get("");
    assert_eq!(page.status, 200, "{}", page.head);
    let head = page.head.to_ascii_lowercase();
    assert!(
        head.contains("content-security-policy: default-src 'none'; script-src 'self'; style-src 'self';")
    );
    assert!(!head.contains("unsafe-") && head.contains("x-content-type-options: nosniff"), "{head}");
    for unwanted in ["style=\"", "<style", "onclick", "onload", "http://", "https://"] {
        assert!(!page.body.contains(unwanted), "{unwanted}");
    }
    assert_eq!(page.body.matches("<script").count(), 1, "{}", page.body);

    let own = format!("127.0.0.1:{}", server.port);
    let (at, elsewhere) = (format!("/{}/ask", server.token), format!("elsewhere.example:{}", server.port));
    let (origin, body) = (server.origin(), ask(COIL, &[], false).to_string());
    let refused = |method: &str, path: &str, headers: &[(&str, &str)]| {
        let reply = server.request(method, path, headers, if method == "POST" { &body } else { "" });
        assert_eq!(reply.status, 403, "{method} {path} {headers:?}: {}", reply.head);
        assert!(!reply.body.contains("winding"), "nothing of the sheet is told");
    };
    let page = format!("/{}/", server.token);
    refused("GET", "/", &[("Host", &own)]);
    refused("GET", "/0123456789abcdef0123456789abcdef/", &[("Host", &own)]);
    refused("GET", "/0123456789abcdef0123456789abcdef/assets/workbench.js", &[("Host", &own)]);
    // A name that an attacker makes lead to this machine.
    refused("GET", &page, &[("Host", &elsewhere)]);
    refused("POST", &at, &[("Host", &elsewhere), ("Origin", &format!("http://{elsewhere}"))]);
    refused("POST", &at, &[("Host", &own), ("Origin", "http://elsewhere.example")]);
    refused("POST", &at, &[("Host", &own), ("Origin", "null")]);
    refused("POST", &at, &[("Host", &own)]);
    refused("POST", &at, &[("Host", &own), ("Origin", &origin), ("Sec-Fetch-Site", "cross-site")]);
}

#[test]
fn no_path_leads_out_and_bodies_are_limited() {
    let (folder, server) = coil();
    for path in [
        "assets/../../coil.sheet.toml",
        "assets/%2e%2e%2fcoil.sheet.toml",
        "../coil.sheet.toml",
        "assets//etc/passwd",
    ] {
        let reply = server.get(path);
        assert!(matches!(reply.status, 403 | 404), "{path}: {}", reply.head);
    }
    let outside = tempfile::tempdir().unwrap();
    let secret = outside.path().join("secret.csv");
    std::fs::write(&secret, "time (s), current (A)\n0, 1\n10, 1\n").unwrap();
    let save = |name: &str| {
        let body = json!({"text": "x", "base": "", "name": name, "replace": true, "page": "p"});
        server.post("save", &body).status
    };
    for name in ["../a.toml", "/tmp/a.toml", "a/../../b.toml", ".hidden.toml", "a.sh"] {
        assert_eq!(save(name), 409, "{name}");
    }
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(outside.path().join("new.toml"), folder.path().join("link.toml")).unwrap();
        assert_eq!(save("link.toml"), 409);
        std::os::unix::fs::symlink(&secret, folder.path().join("linked.csv")).unwrap();
    }
    assert!(!outside.path().join("new.toml").exists());
    // A recorded drive is a file too.
    for name in [secret.to_str().unwrap(), "linked.csv", "../secret.csv"] {
        let text = COIL.replace("current = \"1 A ± 1 %\"", &format!("profile = \"{name}\""));
        let parts = server.post("ask", &ask(&text, &[], true)).parts();
        let told = parts[0]["diagnostics"].to_string();
        assert!(parts.len() == 1 && told.contains("is no file beside the sheet"), "{name}: {told}");
    }
    let big = json!({"text": "#".repeat(9 << 20), "client": "big"});
    assert_eq!(server.post("ask", &big).status, 413);
    let long = json!({"text": "#".repeat(2 << 20), "client": "long"});
    let told = server.post("ask", &long).parts()[0]["diagnostics"].to_string();
    assert!(told.contains("fault"), "{told}");
}

/// How many numbers stand in a section; each is that of `--json`, to the bit.
fn same_numbers(html: &str, values: &Value) -> usize {
    let cells = html.split("data-key=\"").skip(1);
    let same = cells.map(|cell| {
        let (key, rest) = cell.split_once('"').unwrap();
        let si = rest.split("data-si=\"").nth(1).unwrap().split('"').next().unwrap();
        let value = values[key]["value"].as_f64().unwrap();
        assert_eq!(si.parse::<f64>().unwrap().to_bits(), value.to_bits(), "{key}");
    });
    same.count()
}

/// What stands in the page is what `--json` says, to the bit; what comes first is near it.
#[test]
fn settled_numbers_are_those_of_json_and_quick_ones_are_near() {
    let (folder, server) = coil();
    let set = "drive.current=1.2 A";
    let parts = server.post("ask", &ask(COIL, &[set], true)).parts();
    let kinds: Vec<&Value> = parts[..3].iter().map(|part| part.get("id").unwrap_or(&part["part"])).collect();
    assert_eq!(kinds, ["quick", "sheet", "drawing"], "what comes first");
    assert_eq!(parts.last().unwrap()["part"], "settled");
    let mut compared = 0;
    for (command, options) in [("winding", &[][..]), ("field", &["--axis", "--keep-out"]), ("heat", &[])] {
        let json = Command::new(cargo_bin("coilwright"))
            .current_dir(folder.path())
            .args([command, "coil.sheet.toml", "--json", "--set", set])
            .args(options)
            .output()
            .unwrap();
        let answer: Value = serde_json::from_slice(&json.stdout).unwrap();
        let values = &answer["answers"][0]["values"];
        let part = parts.iter().find(|part| part["id"] == command).unwrap();
        let html = part["html"].as_str().unwrap();
        compared += same_numbers(html, values);
        for quick in parts.iter().filter(|part| part["part"] == "quick") {
            for value in quick["values"].as_array().unwrap().iter().filter(|value| value["of"] == command) {
                let (key, si) = (value["key"].as_str().unwrap(), value["si"].as_f64().unwrap());
                let settled = values[key]["value"].as_f64().unwrap();
                assert!((si / settled - 1.0).abs() < 0.02, "{key}: {si} against {settled}");
            }
        }
    }
    assert!(compared > 30, "{compared} numbers");
    // The same again is there at once, in other units.
    let mut again = ask(COIL, &[set], true);
    again["units"] = "imperial".into();
    let parts = server.post("ask", &again).parts();
    assert!(parts.iter().all(|part| part["part"] != "progress"), "nothing is computed again");
    assert!(parts.iter().any(|part| part["html"].as_str().is_some_and(|html| html.contains("°F"))));
}

/// Beside others stands what `compare` says of the same files, to the bit; nothing else is read, and what is gone is told.
#[test]
fn it_is_compared_with_sheets_that_were_named_or_are_in_its_folder() {
    let folder = tempfile::tempdir().unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let more = COIL.replace("name = \"coil\"", "name = \"more turns\"").replace("500 ± 5", "800 ± 5");
    let named = elsewhere.path().join("named.sheet.toml");
    std::fs::write(folder.path().join("coil.sheet.toml"), COIL).unwrap();
    std::fs::write(folder.path().join("more.sheet.toml"), &more).unwrap();
    std::fs::write(folder.path().join("none.toml"), "[package]\n").unwrap();
    std::fs::write(&named, COIL.replace("30 mm", "60 mm")).unwrap();
    std::fs::write(elsewhere.path().join("other.sheet.toml"), &more).unwrap();
    let named = named.to_str().unwrap();
    let server = Server::open(folder.path(), &["coil.sheet.toml", named]);
    let listed = server.get("others").json();
    let files: Vec<&str> = listed.as_array().unwrap().iter().map(|o| o["file"].as_str().unwrap()).collect();
    assert_eq!(files, [named, "more.sheet.toml"], "neither itself nor what is no sheet");

    let beside = |files: &[&str]| {
        let mut asked = ask(COIL, &[], true);
        asked["beside"] = json!(files);
        let mut parts = server.post("ask", &asked).parts();
        parts.retain(|part| part["id"] == "compare");
        parts.pop().unwrap()
    };
    let told = beside(&[named, "more.sheet.toml"]);
    let json = Command::new(cargo_bin("coilwright"))
        .current_dir(folder.path())
        .args(["compare", "coil.sheet.toml", named, "more.sheet.toml", "--json"])
        .output()
        .unwrap();
    let answer: Value = serde_json::from_slice(&json.stdout).unwrap();
    let found = same_numbers(told["html"].as_str().unwrap(), &answer["answers"][0]["values"]);
    assert!(found > 20, "{found} numbers");
    for (file, why) in [
        ("../other.sheet.toml", "cannot be read"),
        (elsewhere.path().join("other.sheet.toml").to_str().unwrap(), "cannot be read"),
        ("none.toml", "is no sheet"),
    ] {
        let told = beside(&[file]);
        assert!(told["failed"] == true && told["html"].as_str().unwrap().contains(why), "{told}");
    }
}

/// The field at a place (from the middle, and from the back of a coil 30 mm long) is what `field --at` says, to the bit; what comes at once is near it. In iron nothing is read.
#[test]
fn the_field_at_a_place_is_that_of_the_command() {
    let (folder, server) = coil();
    let json = Command::new(cargo_bin("coilwright"))
        .current_dir(folder.path())
        .args(["field", "coil.sheet.toml", "--json", "--at", "12mm,9mm"])
        .output()
        .unwrap();
    let answer: Value = serde_json::from_slice(&json.stdout).unwrap();
    let values = &answer["answers"][0]["values"];
    let read = |settle: bool| {
        let mut place = ask(COIL, &[], settle);
        place["place_m"] = json!([0.012, 0.039]);
        server.post("value", &place).json()
    };
    let (quick, settled) = (read(false), read(true));
    for (k, key) in ["b_r_1", "b_z_1", "b_abs_1"].into_iter().enumerate() {
        let value = values[key]["value"].as_f64().unwrap();
        let of = |read: &Value| read["si"][k].as_f64().unwrap();
        assert_eq!(of(&settled).to_bits(), value.to_bits(), "{key}: {settled}");
        assert!((of(&quick) - value).abs() < 0.03 * values["b_abs_1"]["value"].as_f64().unwrap(), "{quick}");
    }
    assert_eq!((&quick["settled"], &settled["settled"]), (&json!(false), &json!(true)));

    let demo = std::fs::read_to_string(examples().join("gantry-pot.sheet.toml")).unwrap();
    let mut place = ask(&demo, &[], false);
    place["place_m"] = json!([0.001, 0.02]);
    let read = server.post("value", &place).json();
    assert_eq!((&read["inside"], &read["size"]), (&json!("pole"), &json!("")), "{read}");
}

/// Every form can be begun with; what a permanent one does at once is near what settles.
#[test]
fn permanent_magnets_have_numbers_at_once() {
    let (_folder, server) = coil();
    let forms = server.get("forms").json();
    assert_eq!(forms.as_array().unwrap().len(), 9);
    for form in ["disc", "ring", "potted-disc"] {
        let of = forms.as_array().unwrap().iter().find(|known| known["form"] == form).unwrap();
        let parts = server.post("ask", &ask(of["text"].as_str().unwrap(), &[], true)).parts();
        let quick = parts.iter().find(|part| part["part"] == "quick").unwrap();
        assert_eq!(
            quick["values"].as_array().unwrap().len(),
            2,
            "{form}: pull and field, nothing of a winding"
        );
        for value in quick["values"].as_array().unwrap() {
            let (of, key) = (&value["of"], value["key"].as_str().unwrap());
            let settled = parts.iter().find(|part| part["id"] == *of).unwrap()["html"].as_str().unwrap();
            let cell = settled.split(&format!("data-key=\"{key}\" data-si=\"")).nth(1).unwrap();
            let settled: f64 = cell.split('"').next().unwrap().parse().unwrap();
            let quick = value["si"].as_f64().unwrap();
            assert!((quick / settled - 1.0).abs() < 0.02, "{form} {key}: {quick} against {settled}");
        }
    }
}

/// What a search finds is what `seek` finds, to the bit; its front grows before, and any of its designs can be written down.
#[test]
fn a_search_is_that_of_the_command() {
    let (folder, server) = coil();
    let mut sought = ask(COIL, &["drive.current=2 A"], true);
    sought["aims"] = json!(["most field", "least power"]);
    sought["vary"] = "winding.turns=300..600".into();
    sought["within"] = "".into();
    sought["designs"] = 20.into();
    let parts = server.post("seek", &sought).parts();
    assert_eq!(parts.last().unwrap()["part"], "settled");
    let fronts: Vec<&Value> = parts.iter().filter(|part| part["part"] == "front").collect();
    let (first, last) = (fronts[0], fronts[fronts.len() - 1]);
    assert!(first["solved"].as_u64() < last["solved"].as_u64(), "{first}");
    let designs = last["designs"].as_array().unwrap();
    assert_eq!(last["chart"].as_str().unwrap().matches("<circle").count(), designs.len(), "a point for each");
    let edit = json!({"text": COIL, "entries": designs[0]["entries"]});
    let text = server.post("edit", &edit).json()["text"].as_str().unwrap().to_owned();
    assert!(text != COIL && text.contains("# calipers"), "{text}");
    let json = Command::new(cargo_bin("coilwright"))
        .current_dir(folder.path())
        .args(["seek", "coil.sheet.toml", "--aim", "most field", "--aim", "least power", "--json"])
        .args(["--vary", "winding.turns=300..600", "--designs", "20"])
        .output()
        .unwrap();
    let answer: Value = serde_json::from_slice(&json.stdout).unwrap();
    let html = parts.iter().find(|part| part["id"] == "seek-found").unwrap()["html"].as_str().unwrap();
    assert!(same_numbers(html, &answer["answers"][0]["values"]) > 10, "{html}");
    sought["aims"] = json!(["most <b>"]);
    let told = server.post("seek", &sought).parts();
    let html = told[0]["html"].as_str().unwrap();
    assert!(told[0]["failed"] == true && html.contains("&lt;b&gt;"), "{html}");
}

#[test]
fn what_is_wrong_stands_at_its_line_and_markup_stays_text() {
    let (_folder, server) = coil();
    let wrong = COIL.replace("40 mm", "40 volts").replace("\"coil\"\nform", "\"<img src=x>\"\nform");
    let parts = server.post("ask", &ask(&wrong, &[], true)).parts();
    assert_eq!(parts.len(), 1, "nothing is drawn of what is no sheet");
    assert_eq!(parts[0]["diagnostics"][0]["line"], 6);
    let named = COIL.replace("name = \"coil\"", "name = \"<img src=x onerror=alert(1)>\"");
    let reply = server.post("ask", &ask(&named, &["drive.current=<b>"], false));
    assert_eq!(reply.parts()[0]["diagnostics"][0]["path"], "drive.current");
    let reply = server.post("ask", &ask(&named, &[], true));
    let html: String =
        reply.parts().iter().filter_map(|part| part["html"].as_str().map(str::to_owned)).collect();
    assert!(!html.contains("<img"), "markup stays text");
    let edited =
        server.post("edit", &json!({"text": named, "entries": [["drive.current", "2 A ± 1 %"]]})).json();
    assert_eq!(edited["text"].as_str().unwrap(), named.replace("\"1 A ± 1 %\"", "\"2 A ± 1 %\""));
}

#[test]
fn a_killed_server_loses_nothing_and_two_pages_do_not_overwrite_each_other() {
    let (folder, mut server) = coil();
    let begin = |server: &Server, page: &str| server.post("begin", &json!({"page": page})).json();
    let (one, two) = (begin(&server, "one"), begin(&server, "two"));
    assert_eq!((&one["text"], &one["recovered"]), (&json!(COIL), &json!(false)));
    let changed = COIL.replace("500", "600");
    let note = json!({"page": "one", "text": changed, "base": one["base"], "unsaved": true});
    assert_eq!(server.post("journal", &note).status, 204);
    server.end();
    assert_eq!(std::fs::read_to_string(folder.path().join("coil.sheet.toml")).unwrap(), COIL);

    let server = Server::open(folder.path(), &["coil.sheet.toml"]);
    let found = begin(&server, "three");
    assert_eq!((&found["text"], &found["recovered"]), (&json!(changed), &json!(true)));
    let save = |page: &str, text: &str, base: &Value, replace: bool| {
        server.post("save", &json!({"page": page, "text": text, "base": base, "replace": replace}))
    };
    assert_eq!(save("three", &changed, &found["base"], false).status, 200);
    // The other page knows the file as it was.
    let refused = save("two", COIL, &two["base"], false);
    assert_eq!((refused.status, &refused.json()["may_replace"]), (409, &json!(true)), "{}", refused.body);
    assert_eq!(std::fs::read_to_string(folder.path().join("coil.sheet.toml")).unwrap(), changed);
    assert_eq!(save("two", COIL, &two["base"], true).status, 200);
    let left: Vec<_> =
        std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left, ["coil.sheet.toml"], "no journal is left");
}

/// Whoever moves a slider asks more often than is answered: the newest is not kept waiting by those before it.
#[test]
fn many_questions_do_not_starve_the_newest() {
    let (_folder, server) = coil();
    let streams: Vec<TcpStream> = (0..50)
        .map(|k| {
            let body =
                ask(COIL, &[&format!("drive.current={} A", 1.0 + 0.01 * f64::from(k))], true).to_string();
            let mut stream = TcpStream::connect(("127.0.0.1", server.port)).unwrap();
            let head = format!(
                "POST /{}/ask HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nOrigin: {}\r\nContent-Length: {}\r\n\r\n",
                server.token,
                server.port,
                server.origin(),
                body.len()
            );
            stream.write_all((head + &body).as_bytes()).unwrap();
            stream
        })
        .collect();
    let mut newest = ask(COIL, &["drive.current=2 A"], true);
    newest["moment"] = 50.into();
    let newest = server.post("ask", &newest).parts();
    assert_eq!(newest.last().unwrap()["part"], "settled");
    let settling = |part: &&Value| part["part"] == "progress";
    assert!(newest.iter().filter(settling).count() >= 5);
    drop(streams);
}

#[test]
fn charts_readings_and_the_report_are_files() {
    let (folder, server) = coil();
    let mut asked = ask(COIL, &[], true);
    server.post("ask", &asked);
    let chart = |format: &str| {
        let mut wanted = asked.clone();
        wanted["of"] = "field".into();
        wanted["series"] = "axis_scan".into();
        wanted["format"] = format.into();
        server.post("chart", &wanted)
    };
    let svg = chart("svg");
    assert!(
        svg.status == 200 && svg.body.starts_with("<svg"),
        "{} {}",
        svg.status,
        &svg.body[..80.min(svg.body.len())]
    );
    assert!(chart("csv").body.lines().count() > 10);
    let dropped = json!({"name": "bench.csv", "text": "voltage V, current A\nmany, 1\n"});
    assert_eq!(server.post("readings", &dropped).json()["diagnostics"][0]["line"], 2);
    let dropped = json!({"name": "bench.csv", "text": "field mT @ r=0mm z=1mm\n17.1\n17.2\n"});
    assert_eq!(server.post("readings", &dropped).json()["diagnostics"], json!([]));
    let parts = server.post("ask", &asked).parts();
    assert!(parts.iter().any(|part| part["id"] == "fit"), "what the readings tell");
    asked["set"] = json!(["drive.current=2 A"]);
    let report = server.post("report", &asked);
    assert!(report.status == 200 && report.body.starts_with("<!doctype html>"), "{}", report.head);
    assert!(report.body.contains("--set") && report.body.contains("bench.csv"), "how to make it again");
    drop(folder);
}

#[test]
fn the_demo_opens_where_no_sheet_is_named_and_becomes_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::open(folder.path(), &[]);
    let page = server.get("").body;
    assert!(page.contains("class=\"welcome\"") && page.contains("gantry pot"));
    let begins = server.post("begin", &json!({"page": "a"})).json();
    let demo = std::fs::read_to_string(examples().join("gantry-pot.sheet.toml")).unwrap();
    assert_eq!(begins["text"], json!(demo));
    let save = json!({"page": "a", "text": demo, "base": "", "name": "mine.sheet.toml"});
    assert_eq!(server.post("save", &save).json()["file"], json!("mine.sheet.toml"));
    assert_eq!(std::fs::read_to_string(folder.path().join("mine.sheet.toml")).unwrap(), demo);
}

#[cfg(unix)]
#[test]
fn an_interrupt_is_how_it_ends() {
    let (_folder, mut server) = coil();
    let id = server.child.id().to_string();
    assert!(Command::new("kill").args(["-INT", &id]).status().unwrap().success());
    assert_eq!(server.child.wait().unwrap().code(), Some(0));
}
