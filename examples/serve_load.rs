//! `serve` under load: many clients on the advice form at once, and how long each waits.
//!
//!     cargo run --release --example serve_load -- ADDRESS [CLIENTS] [SECONDS] [THINK_SECONDS]
//!
//! ADDRESS is what `doughwright serve` wrote. Each client asks for a plan, waits for the whole answer, thinks for a
//! random while of the mean given (exponential; 0: not at all), and asks for another plan. Told are the quantiles of the
//! wait in two loads: clients that ask for the same twenty plans, and every question a new one.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::sync::atomic::{AtomicU32, Ordering};
use std::thread;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A place to ask: host and port, and the path up to the form's columns.
#[derive(Clone)]
struct Form {
    host: String,
    path: String,
}

impl Form {
    fn of(address: &str) -> Option<Self> {
        let (host, path) = address.strip_prefix("http://")?.split_once('/')?;
        Some(Self { host: host.into(), path: format!("/{path}next") })
    }

    /// Asks over an open connection; how long the whole answer took.
    fn ask(&self, connection: &mut BufReader<TcpStream>, columns: &str) -> std::io::Result<Duration> {
        let started = Instant::now();
        let request = format!("GET {}?{columns} HTTP/1.1\r\nHost: {}\r\n\r\n", self.path, self.host);
        connection.get_mut().write_all(request.as_bytes())?;
        let (mut line, mut length, mut status) = (String::new(), 0, String::new());
        while connection.read_line(&mut line)? > 2 {
            if status.is_empty() {
                status.clone_from(&line);
            }
            if let Some(n) = line.to_ascii_lowercase().strip_prefix("content-length:") {
                length = n.trim().parse().unwrap_or(0);
            }
            line.clear();
        }
        let mut page = vec![0; length];
        connection.read_exact(&mut page)?;
        let waited = started.elapsed();
        let is_answer = status.contains(" 200 ") && String::from_utf8_lossy(&page).contains("Weigh");
        if is_answer { Ok(waited) } else { Err(std::io::Error::other(format!("no answer: {status}"))) }
    }
}

/// Waits of all clients over so many seconds; `plan` makes the columns of the n-th question.
fn load(form: &Form, clients: u64, seconds: f64, think: f64, plan: fn(u32) -> String) -> Vec<f64> {
    let asked = AtomicU32::new(0);
    let until = Instant::now() + Duration::from_secs_f64(seconds);
    let client = |seed: u64| {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let connection = TcpStream::connect(&form.host).and_then(|c| c.set_nodelay(true).map(|()| c));
        let mut connection = BufReader::new(connection.expect("the page is served"));
        let mut pause = || Duration::from_secs_f64(-think * (1.0 - rng.random::<f64>()).ln());
        let mut waits = Vec::new();
        // Clients do not begin at one stroke where they think in between.
        thread::sleep(pause());
        while Instant::now() < until {
            let n = asked.fetch_add(1, Ordering::Relaxed);
            let waited = form.ask(&mut connection, &plan(n)).expect("an answer comes");
            waits.push(1000.0 * waited.as_secs_f64());
            thread::sleep(pause());
        }
        waits
    };
    let mut waits: Vec<f64> = thread::scope(|scope| {
        let all: Vec<_> = (0..clients).map(|c| scope.spawn(move || client(c))).collect();
        all.into_iter().flat_map(|c| c.join().expect("a client ends")).collect()
    });
    waits.sort_by(f64::total_cmp);
    waits
}

fn tell(what: &str, waits: &[f64], seconds: f64) {
    let at = |p: f64| waits[((waits.len() - 1) as f64 * p).round() as usize];
    println!(
        "{what}: {} answers, {:.0} a second; wait in ms: half {:.1}, 95 % {:.1}, 99 % {:.1}, longest {:.1}",
        waits.len(),
        waits.len() as f64 / seconds,
        at(0.5),
        at(0.95),
        at(0.99),
        at(1.0)
    );
}

/// Every question another, and another than in earlier runs: hours in the fridge, and microseconds of now in its temperature.
fn new_plan(n: u32) -> String {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.subsec_micros());
    let (hours, temp) = (18.0 + 0.01 * f64::from(n % 3000), 3.0 + 2e-6 * f64::from(now));
    format!("cold_hours={hours:.2}&cold_temp_c={temp:.6}&room_temp_c=22&target_rise=2.2")
}

fn known_plan(n: u32) -> String {
    format!("cold_hours={}&target_rise=2.2&room_temp_c=22", 20 + n % 20)
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize, otherwise: f64| words.get(i).and_then(|w| w.parse().ok()).unwrap_or(otherwise);
    let Some(form) = words.first().and_then(|a| Form::of(a)) else {
        eprintln!("give the address that `doughwright serve` wrote");
        std::process::exit(2);
    };
    let (clients, seconds, think) = (number(1, 50.0) as u64, number(2, 10.0), number(3, 0.0));
    println!("{clients} clients for {seconds} s, thinking {think} s on average");
    tell("asked before", &load(&form, clients, seconds, think, known_plan), seconds);
    tell("every one new", &load(&form, clients, seconds, think, new_plan), seconds);
}
