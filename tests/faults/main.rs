//! Faults that the operating system has to be asked for: full disks, disks that may not be written, no network, another
//! clock, and damage on every page of the logbook. Nothing that the program acknowledged is lost, or it says so and how to
//! get it back.
//!
//! What a system does not allow to be set up is told and counted as ignored, never as passed; libtest-mimic can do
//! that, the usual harness cannot. (Kills while the logbook is written: `tests/logbook_kill.rs`; single bytes:
//! `tests/logbook_damage.rs`; files cut short by a kill, many writers at once: `tests/cli/faults.rs`.)

#[path = "../cli/bench.rs"]
#[allow(dead_code)]
mod bench;

#[cfg(target_os = "linux")]
mod clock;
#[cfg(target_os = "linux")]
mod disk;
#[cfg(target_os = "linux")]
mod kitchen;
#[cfg(target_os = "linux")]
mod long;
#[cfg(target_os = "linux")]
mod network;
#[cfg(target_os = "linux")]
mod pages;
#[cfg(target_os = "linux")]
mod system;

#[cfg(not(target_os = "linux"))]
fn main() {
    println!("ignored: these faults are set up by means that only Linux has");
}

#[cfg(target_os = "linux")]
fn main() {
    use system::{Need, trial};
    let arguments = libtest_mimic::Arguments::from_args();
    let trials = vec![
        trial("a_bit_changed_on_any_page_is_told_or_does_no_harm", Need::Nothing, pages::a_changed_bit),
        trial("a_logbook_cut_at_any_page_is_told", Need::Nothing, pages::cut_short),
        trial("a_backup_is_the_way_back", Need::Nothing, pages::the_way_back),
        trial("records_are_kept_until_the_disk_is_full", Need::Mounts, disk::records_until_full),
        trial("a_full_disk_leaves_the_files_before", Need::Mounts, disk::files_on_a_full_disk),
        trial("a_full_disk_under_an_import_changes_nothing", Need::Mounts, disk::import_on_a_full_disk),
        trial("a_disk_that_may_not_be_written_is_read", Need::Mounts, disk::read_only),
        trial("a_clock_set_back_loses_nothing", Need::Clock, clock::set_back),
        trial("every_command_works_without_a_network", Need::Network, network::every_command),
        trial("a_page_is_served_without_a_network", Need::Network, network::served),
        trial("a_soak_holds_no_more", Need::Example("soak"), long::soak),
        trial("many_runs_do_not_swell_the_logbook", Need::Nothing, long::one_logbook),
    ];
    libtest_mimic::run(&arguments, trials).exit();
}
