//! What all requests share: the settings of this run, its secrets, what is known of the kitchen, and the sheets in hand.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::body::Body;
use axum::http::header::{self, HeaderValue};
use axum::http::{Response as HttpResponse, StatusCode};
use axum::response::Response;
use maud::{Markup, html};

use crate::answers::failure::Failure;
use crate::dough::units::UnitSystem;
use crate::logbook::{Logbook, LogbookError, Stamp};

use super::form::Form;
use super::frame::{Frame, Tab};
use super::held::Shelf;
use super::known::{Known, ToKeep};
use super::refused::Refused;
use super::secret::Secret;

/// How the page was started.
#[derive(Debug, Clone)]
pub struct Settings {
    /// The logbook's file.
    pub logbook: PathBuf,
    /// The kitchen as named; `None` for the only one.
    pub kitchen: Option<String>,
    /// Units of what is shown and typed.
    pub units: UnitSystem,
    /// Whether anything may be kept.
    pub writes: bool,
}

/// What a request is answered with.
#[derive(Debug)]
pub enum Reply {
    /// A page: under which tab, its title and its contents, the title among them.
    Page(Tab, String, Markup),
    /// Another address of this page to go to, behind the key.
    GoTo(String),
    /// A table to be saved under a name.
    Table(&'static str, Vec<u8>),
}

/// What all requests share.
#[derive(Debug)]
pub struct Desk {
    /// How it was started.
    pub settings: Settings,
    /// The key in the address.
    pub key: Secret,
    /// The token in each form.
    pub token: Secret,
    /// Sheets are read one at a time, so that one who hands over many keeps nobody else waiting.
    pub reading: tokio::sync::Mutex<()>,
    shelf: Mutex<Shelf>,
    watched: Mutex<Watched>,
}

/// The logbook, open to see changes by others, and what was known when it had that stamp.
#[derive(Debug)]
struct Watched {
    logbook: Logbook,
    stamp: Stamp,
    known: Arc<Known>,
}

impl Desk {
    /// Opens the logbook and learns what it says.
    ///
    /// # Errors
    /// When it cannot be read, or the system has no random numbers.
    pub fn open(settings: Settings) -> Result<Self, Failure> {
        let secret = || {
            Secret::new()
                .map_err(|e| Failure::Work(format!("there are no random numbers to make a key from: {e}")))
        };
        let watched = Watched::open(&settings, None)?;
        Ok(Self {
            key: secret()?,
            token: secret()?,
            reading: tokio::sync::Mutex::default(),
            shelf: Mutex::default(),
            watched: Mutex::new(watched),
            settings,
        })
    }

    /// What is known of the kitchen now.
    pub fn known(&self) -> Result<Arc<Known>, Failure> {
        let mut watched = self.watched.lock().unwrap_or_else(PoisonError::into_inner);
        if watched.logbook.stamp()? != watched.stamp {
            *watched = Watched::open(&self.settings, Some(&watched.known))?;
        }
        Ok(watched.known.clone())
    }

    /// The logbook, to read.
    pub fn logbook(&self) -> Result<Logbook, Failure> {
        Ok(Logbook::open_read_only(&self.settings.logbook)?)
    }

    /// The logbook, to write, where that was allowed.
    pub fn logbook_to_write(&self) -> Result<Logbook, Refused> {
        self.may_write()?;
        Ok(Logbook::open(&self.settings.logbook)?)
    }

    /// Whether anything may be kept.
    pub fn may_write(&self) -> Result<(), Refused> {
        if self.settings.writes { Ok(()) } else { Err(Refused::ReadOnly) }
    }

    /// Whether a form is one of this run.
    pub fn is_own(&self, form: &Form) -> Result<(), Refused> {
        if self.token.is(form.get("token")) { Ok(()) } else { Err(Refused::StaleForm) }
    }

    /// The sheets in hand.
    pub fn shelf(&self) -> MutexGuard<'_, Shelf> {
        self.shelf.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What stands around every page.
    pub fn frame(&self) -> Frame<'_> {
        Frame {
            base: format!("/{}", self.key.text()),
            token: self.token.text(),
            writes: self.settings.writes,
        }
    }

    /// The answer to a request.
    pub fn respond(&self, reply: Result<Reply, Refused>) -> Response {
        match reply {
            Ok(Reply::Page(tab, title, contents)) => {
                page(StatusCode::OK, self.frame().page(Some(tab), &title, contents))
            }
            Ok(Reply::GoTo(place)) => {
                let to = format!("{}/{place}", self.frame().base);
                answer(StatusCode::SEE_OTHER, [(header::LOCATION, to)], Body::empty())
            }
            Ok(Reply::Table(name, bytes)) => {
                let how = [
                    (header::CONTENT_TYPE, "text/csv; charset=utf-8".into()),
                    (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
                ];
                answer(StatusCode::OK, how, Body::from(bytes))
            }
            Err(refused) => self.refuse(&refused),
        }
    }

    /// The page of a refusal.
    pub fn refuse(&self, refused: &Refused) -> Response {
        let title = "This was not done";
        let contents = html! { h1 { (title) } p.alert { (refused) } };
        let html = match refused.knows_the_key() {
            true => self.frame().page(None, title, contents),
            false => Frame::bare(title, contents),
        };
        page(refused.status(), html)
    }
}

impl Watched {
    fn open(settings: &Settings, before: Option<&Known>) -> Result<Self, Failure> {
        let logbook = Logbook::open_read_only(&settings.logbook)?;
        // The stamp is taken first: what is written while the rest is read is seen at the next request.
        let stamp = logbook.stamp()?;
        let (known, made) = Known::read(&logbook, settings.kitchen.as_deref(), settings.units, before)?;
        if settings.writes {
            // What cannot be kept just now is made again by whoever needs it next.
            let _ = keep(&settings.logbook, &known.name, &made);
        }
        Ok(Self { logbook, stamp, known: Arc::new(known) })
    }
}

fn keep(logbook: &Path, kitchen: &str, made: &ToKeep) -> Result<(), LogbookError> {
    if made.fit.is_none() && made.crust.is_none() {
        return Ok(());
    }
    let mut logbook = Logbook::open(logbook)?;
    if let Some(fit) = &made.fit {
        logbook.keep_fit(fit)?;
    }
    made.crust.as_ref().map_or(Ok(()), |text| logbook.keep_crust(kitchen, text))
}

fn answer<const N: usize>(
    status: StatusCode,
    headers: [(header::HeaderName, String); N],
    body: Body,
) -> Response {
    let mut response = HttpResponse::new(body);
    *response.status_mut() = status;
    for (name, value) in headers {
        // What is sent is made here, of letters and digits; anything else would be left out.
        if let Ok(value) = HeaderValue::from_str(&value) {
            response.headers_mut().insert(name, value);
        }
    }
    response
}

/// A page; its style sheets are allowed by a word that is new each time, so that none from outside can be.
fn page(status: StatusCode, html: String) -> Response {
    let nonce = match Secret::new() {
        Ok(secret) => secret.text().to_string(),
        // Without a nonce the page comes without its style, and stays safe.
        Err(_) => String::new(),
    };
    let html = html.replace("<style>", &format!("<style nonce=\"{nonce}\">"));
    let allowed = format!(
        "default-src 'none'; style-src 'nonce-{nonce}'; img-src data:; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
    );
    let how = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8".into()),
        (header::CONTENT_SECURITY_POLICY, allowed),
    ];
    answer(status, how, Body::from(html))
}
