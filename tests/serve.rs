//! The page to work in, from outside: the built program is started, and spoken to over a socket. What it must do is from
//! its own contract (README, "A page to work in"), from the HTTP and Fetch standards, and from what the logbook holds
//! before and after as the other commands tell it. The records are the invented ones of `demo-data`.

#[path = "serve/client.rs"]
mod client;
#[path = "serve/doors.rs"]
mod doors;
#[path = "serve/round.rs"]
mod round;
#[path = "serve/sheets.rs"]
mod sheets;
