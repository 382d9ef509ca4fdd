//! What a test needs of the system, and how it is had: a test that needs mounts or a network of its own is this very binary
//! run again inside `unshare` (util-linux), so that what it sets up is gone with it and nobody else sees it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use libtest_mimic::{Failed, Trial};

use crate::bench::PROGRAM;

/// Set for the run inside.
const INSIDE: &str = "DOUGHWRIGHT_FAULTS_INSIDE";

/// What has to be had before a test can begin.
#[derive(Clone, Copy)]
pub enum Need {
    Nothing,
    /// File systems of its own.
    Mounts,
    /// A network of its own, with nothing in it.
    Network,
    /// The command `faketime`.
    Clock,
    /// An example that was built with the program.
    Example(&'static str),
}

/// A test, ignored and told where what it needs cannot be had.
pub fn trial(name: &'static str, need: Need, body: fn()) -> Trial {
    let inside = std::env::var_os(INSIDE).is_some();
    let way = if inside { Ok(None) } else { need.way() };
    let ignored = match &way {
        Err(why) => {
            println!("{name} is ignored: {why}");
            true
        }
        Ok(_) => false,
    };
    Trial::test(name, move || match way {
        Ok(Some(flags)) => again(flags, name),
        Ok(None) => {
            body();
            Ok(())
        }
        Err(why) => Err(Failed::from(why)),
    })
    .with_ignored_flag(ignored)
}

impl Need {
    /// The flags of `unshare`, where it is to be used; why not, where it cannot be had.
    fn way(self) -> Result<Option<&'static str>, String> {
        let unshare = |flags: [&'static str; 2], probe: &str| {
            // A superuser may; others may where the system lets them be one in a world of their own.
            let may = |flags: &&&'static str| done(&output("unshare", &[**flags, "sh", "-c", probe]));
            match flags.iter().find(may) {
                Some(&flags) => Ok(Some(flags)),
                None => Err(format!(
                    "`unshare {}` is not allowed, or is not there",
                    flags.join("` and `unshare ")
                )),
            }
        };
        match self {
            Self::Nothing => Ok(None),
            Self::Mounts => unshare(["-m", "-Urm"], "mount -t tmpfs none /tmp"),
            Self::Network => unshare(["-n", "-Urn"], "ip link set lo up"),
            Self::Clock => match done(&output("faketime", &["2027-01-01", "true"])) {
                true => Ok(None),
                false => Err("the command `faketime` is not there".into()),
            },
            Self::Example(name) => match example(name).exists() {
                true => Ok(None),
                false => Err(format!(
                    "the example {name} is not built: `cargo test --release` without --test builds it"
                )),
            },
        }
    }
}

/// Where cargo puts an example.
pub fn example(name: &str) -> PathBuf {
    Path::new(PROGRAM).parent().unwrap().join("examples").join(name)
}

/// This binary once more, for one test.
fn again(flags: &str, name: &str) -> Result<(), Failed> {
    let own = std::env::current_exe().unwrap();
    let mut command = Command::new("unshare");
    command.arg(flags).arg(own).args([name, "--exact", "--nocapture"]).env(INSIDE, "yes");
    let told = command.output().map_err(|e| Failed::from(e.to_string()))?;
    let said = String::from_utf8_lossy(&told.stdout) + String::from_utf8_lossy(&told.stderr);
    match told.status.success() && said.contains("1 passed") {
        true => Ok(()),
        false => Err(Failed::from(said.into_owned())),
    }
}

pub fn output(program: &str, words: &[&str]) -> std::io::Result<Output> {
    Command::new(program).args(words).output()
}

fn done(output: &std::io::Result<Output>) -> bool {
    output.as_ref().is_ok_and(|o| o.status.success())
}
