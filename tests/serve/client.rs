//! A page that is served, and the least that speaks HTTP/1.1 to it (RFC 9112): one request a connection, over a plain
//! socket, so that every header is as the test says and nothing else is sent.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

const PROGRAM: &str = env!("CARGO_BIN_EXE_doughwright");

pub fn demo_data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data").join(name)
}

/// A folder with a logbook of the demo's batches and readings.
pub struct Bench(tempfile::TempDir);

impl Bench {
    pub fn new() -> Self {
        let bench = Self(tempfile::tempdir().unwrap());
        let (batches, readings) = (demo_data("batches.csv"), demo_data("readings.csv"));
        bench.run(&["import", batches.to_str().unwrap(), readings.to_str().unwrap()]);
        bench
    }

    pub fn empty() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(PROGRAM);
        command.current_dir(self.0.path()).env_remove("DOUGHWRIGHT_LOGBOOK").args(words);
        command
    }

    /// Runs the program to its end; its standard output.
    pub fn run(&self, words: &[&str]) -> String {
        let done = self.command(words).output().unwrap();
        assert!(done.status.success(), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
        String::from_utf8(done.stdout).unwrap()
    }

    /// Everything in the logbook, as lines.
    pub fn everything(&self) -> Vec<String> {
        self.run(&["export", "all.jsonl"]);
        std::fs::read_to_string(self.path("all.jsonl")).unwrap().lines().map(str::to_string).collect()
    }

    pub fn serve(&self, words: &[&str]) -> Served {
        let mut child = self
            .command(&[&["serve"], words].concat())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().strip_prefix("open http://").unwrap_or_else(|| panic!("{line}"));
        let (host, key) = address.trim_end_matches('/').split_once('/').unwrap();
        Served { host: host.into(), key: key.into(), child }
    }
}

/// A page that is served; it ends with the test.
pub struct Served {
    pub host: String,
    pub key: String,
    pub child: Child,
}

impl Drop for Served {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: String,
}

impl Answer {
    pub fn header(&self, name: &str) -> &str {
        self.headers.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v)
    }

    /// The value of the first hidden field of a name.
    pub fn hidden(&self, name: &str) -> &str {
        let field = format!("type=\"hidden\" name=\"{name}\" value=\"");
        let from = self.body.find(&field).unwrap_or_else(|| panic!("no {name} in {}", self.body));
        self.body[from + field.len()..].split('"').next().unwrap()
    }

    #[track_caller]
    pub fn says(&self, status: u16, words: &[&str]) -> &Self {
        assert_eq!(self.status, status, "{}", self.body);
        for word in words {
            assert!(self.body.contains(word), "'{word}' is not in {}", self.body);
        }
        self
    }
}

impl Served {
    /// Sends a request as it is, and reads the answer to its end.
    pub fn raw(&self, head: &str, body: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        stream.write_all(head.as_bytes()).unwrap();
        // An answer may come before all was sent.
        let _ = stream.write_all(body);
        let mut all = Vec::new();
        stream.read_to_end(&mut all).unwrap();
        let text = String::from_utf8_lossy(&all).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or_else(|| panic!("no answer: {text}"));
        let mut lines = head.lines();
        let status = lines.next().unwrap().split(' ').nth(1).unwrap().parse().unwrap();
        let header = |l: &str| l.split_once(": ").map(|(n, v)| (n.to_ascii_lowercase(), v.to_string()));
        Answer { status, headers: lines.filter_map(header).collect(), body: body.to_string() }
    }

    pub fn get(&self, place: &str) -> Answer {
        self.get_as(&self.host, &format!("/{}/{place}", self.key))
    }

    pub fn get_as(&self, host: &str, path: &str) -> Answer {
        self.raw(&format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"), b"")
    }

    /// Posts a body with these headers beside those that every post has.
    pub fn post_with(&self, place: &str, kind: &str, headers: &str, body: &[u8]) -> Answer {
        let head = format!(
            "POST /{}/{place} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Type: {kind}\r\n\
             Content-Length: {}\r\n{headers}\r\n",
            self.key,
            self.host,
            body.len()
        );
        self.raw(&head, body)
    }

    /// What a browser on the page itself says of where a form comes from.
    pub fn own(&self) -> String {
        format!("Origin: http://{}\r\n", self.host)
    }

    /// The token in the forms of this run.
    pub fn token(&self) -> String {
        self.get("sheet").hidden("token").to_string()
    }

    /// Sends a form as a browser does from the page.
    pub fn post(&self, place: &str, fields: &[(&str, &str)]) -> Answer {
        let token = self.token();
        self.post_with(
            place,
            FORM,
            &self.own(),
            form(&[&[("token", token.as_str())], fields].concat()).as_bytes(),
        )
    }

    /// Hands a file over as a browser does from the page.
    pub fn upload(&self, name: &str, bytes: &[u8]) -> Answer {
        let token = self.token();
        let mut body = format!(
            "--xyz\r\nContent-Disposition: form-data; name=\"token\"\r\n\r\n{token}\r\n\
             --xyz\r\nContent-Disposition: form-data; name=\"sheet\"; filename=\"{name}\"\r\n\
             Content-Type: application/octet-stream\r\n\r\n"
        )
        .into_bytes();
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n--xyz--\r\n");
        self.post_with("sheet", "multipart/form-data; boundary=xyz", &self.own(), &body)
    }

    /// Goes where an answer points to.
    #[track_caller]
    pub fn follow(&self, answer: &Answer) -> Answer {
        answer.says(303, &[]);
        let place = answer.header("location");
        assert!(place.starts_with(&format!("/{}/", self.key)), "{place}");
        self.get_as(&self.host, place)
    }
}

pub const FORM: &str = "application/x-www-form-urlencoded";

/// Fields as a form sends them (URL standard, application/x-www-form-urlencoded).
pub fn form(fields: &[(&str, &str)]) -> String {
    let word = |text: &str| -> String {
        let plain = |b: u8| b.is_ascii_alphanumeric() || b"-._*".contains(&b);
        text.bytes().map(|b| if plain(b) { (b as char).to_string() } else { format!("%{b:02X}") }).collect()
    };
    fields.iter().map(|(n, v)| format!("{}={}", word(n), word(v))).collect::<Vec<_>>().join("&")
}
