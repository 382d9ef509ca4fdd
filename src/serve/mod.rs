//! A page to work in: the same program as a page in the browser of this machine. It answers on the loopback address only,
//! behind a key that is new at every start; it needs no script; it keeps nothing unless started to.
//!
//! [`Served`] is the page, running until it is stopped.
//! - `secret` words that nobody can guess; `guard` what stands before every request; `refused` what is said of a refusal
//! - `desk` what all requests share; `known` what is known of the kitchen, in memory; `held` sheets not yet kept
//! - `routes` which page answers which address; `pages` the pages; `frame` what stands around them; `form` their fields

mod desk;
mod form;
mod frame;
mod guard;
mod held;
mod known;
mod pages;
mod refused;
mod routes;
mod secret;

use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;

use crate::answers::failure::Failure;

pub use desk::Settings;

/// Time for requests under way to end once it is stopped.
const LAST_ORDERS: Duration = Duration::from_secs(2);

/// A page that is ready to be served: its place is taken, its logbook read.
#[derive(Debug)]
pub struct Served {
    listener: TcpListener,
    desk: Arc<desk::Desk>,
    at: SocketAddr,
}

impl Served {
    /// Opens the logbook and takes a port of the loopback address; port 0 takes any that is free.
    ///
    /// # Errors
    /// When the port is taken or the logbook cannot be read.
    pub fn open(settings: Settings, port: u16) -> Result<Self, Failure> {
        let taken = |e: io::Error| {
            Failure::Work(format!("port {port} cannot be had ({e}): leave --port out, or give another"))
        };
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(taken)?;
        listener.set_nonblocking(true).map_err(taken)?;
        let at = listener.local_addr().map_err(taken)?;
        Ok(Self { listener, desk: Arc::new(desk::Desk::open(settings)?), at })
    }

    /// The address to open in a browser, with its key.
    pub fn address(&self) -> String {
        format!("http://{}/{}/", self.at, self.desk.key.text())
    }

    /// Serves until Ctrl-C, or until the system asks it to end; requests under way are answered.
    ///
    /// # Errors
    /// When the system gives no threads or sockets.
    pub fn run(self) -> Result<(), Failure> {
        let failed = |e: io::Error| Failure::Work(format!("the page cannot be served: {e}"));
        let cores = std::thread::available_parallelism().map_or(2, usize::from);
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(cores.min(2))
            // One a core works out answers, so that those who wait are served in turn; one more reads sheets.
            .max_blocking_threads(cores + 1)
            .enable_all()
            .build()
            .map_err(failed)?;
        runtime
            .block_on(async {
                let listener = tokio::net::TcpListener::from_std(self.listener)?;
                let (stop, stopped) = tokio::sync::watch::channel(());
                let serving = axum::serve(listener, routes::router(self.desk))
                    .with_graceful_shutdown(async move {
                        let mut stopped = stopped;
                        let _ = stopped.changed().await;
                    })
                    .into_future();
                tokio::pin!(serving);
                tokio::select! {
                    ended = &mut serving => return ended,
                    () = asked_to_stop() => {}
                }
                let _ = stop.send(());
                // A browser that holds its connection open keeps nobody here.
                let _ = tokio::time::timeout(LAST_ORDERS, serving).await;
                Ok(())
            })
            .map_err(failed)?;
        runtime.shutdown_timeout(LAST_ORDERS);
        Ok(())
    }
}

/// Ends when somebody presses Ctrl-C, or the system asks the program to end.
async fn asked_to_stop() {
    let pressed = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        let ends = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate());
        if let Ok(mut ends) = ends {
            tokio::select! { _ = pressed => {}, _ = ends.recv() => {} }
            return;
        }
    }
    // Without a way to hear it, the system ends the program itself.
    let _ = pressed.await;
}
