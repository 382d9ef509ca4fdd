//! Progress on standard error, for people only: nothing where that is not a terminal. What takes less than a second shows
//! nothing either. Ctrl-C ends the program as usual; a fit by chains ends between two draws.

use std::io::IsTerminal;
use std::sync::mpsc::{Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use indicatif::{MultiProgress, ProgressBar, ProgressDrawTarget, ProgressStyle};

/// How long is waited before anything is shown.
const PATIENCE: Duration = Duration::from_secs(1);
/// From one turn of the spinner to the next.
const TURN: Duration = Duration::from_millis(100);

/// Does some work; says what is being done when that takes longer than a second.
pub fn while_doing<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let _waiting = Waiting::new(what);
    work()
}

/// Waits beside the work that goes on; gone when dropped.
struct Waiting(Option<(Sender<()>, JoinHandle<()>)>);

impl Waiting {
    fn new(what: &str) -> Self {
        if !std::io::stderr().is_terminal() {
            return Self(None);
        }
        let (done, ended) = channel::<()>();
        let what = what.to_string();
        let begun = Instant::now();
        let show = move || {
            // The sender says nothing; it goes away when the work is done.
            if ended.recv_timeout(PATIENCE) == Err(std::sync::mpsc::RecvTimeoutError::Timeout) {
                let bar = ProgressBar::new_spinner().with_message(what).with_elapsed(begun.elapsed());
                if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} {elapsed}") {
                    bar.set_style(style);
                }
                bar.enable_steady_tick(TURN);
                let _ = ended.recv();
                bar.finish_and_clear();
            }
        };
        Self(Some((done, std::thread::spawn(show))))
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        if let Some((done, shown)) = self.0.take() {
            drop(done);
            // A spinner that failed is no reason to fail.
            let _ = shown.join();
        }
    }
}

/// One bar a chain. A kill leaves the logbook as it was, since the fit is written in one step at the end.
pub struct Bars(Vec<ProgressBar>);

impl Bars {
    /// Of so many chains.
    pub fn new(chains: usize) -> Self {
        let all = MultiProgress::new();
        let bar = |i: usize| {
            let bar = all.add(ProgressBar::new(1));
            if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {pos}/{len} {eta}") {
                bar.set_style(style);
            }
            bar.set_message(format!("chain {}", i + 1));
            bar
        };
        Self((0..chains).map(bar).collect())
    }

    /// So many draws of a chain are done.
    pub fn show(&self, chain: usize, done: usize, total: usize) {
        if let Some(bar) = self.0.get(chain) {
            bar.set_length(total as u64);
            bar.set_position(done as u64);
            if done == total {
                bar.finish_and_clear();
            }
        }
    }
}

/// The steps of a longer job: a spinner for people, a line a step for files.
pub struct Steps {
    bar: ProgressBar,
    plain: bool,
}

impl Steps {
    /// So many steps.
    pub fn new(steps: u64) -> Self {
        let plain = !std::io::stderr().is_terminal();
        let target = if plain { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
        let bar = ProgressBar::with_draw_target(Some(steps), target);
        if let Ok(style) = ProgressStyle::with_template("{spinner} [{pos}/{len}] {msg} {elapsed}") {
            bar.set_style(style);
        }
        bar.enable_steady_tick(TURN);
        Self { bar, plain }
    }

    /// The next step begins.
    pub fn begin(&self, what: &str) {
        self.bar.inc(1);
        self.bar.set_message(what.to_string());
        if self.plain {
            eprintln!("[{}/{}] {what}", self.bar.position(), self.bar.length().unwrap_or(0));
        }
    }

    /// All are done.
    pub fn end(&self) {
        self.bar.finish_and_clear();
    }
}
