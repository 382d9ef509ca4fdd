//! Which page answers which address.

use std::sync::Arc;

use axum::Router;
use axum::extract::multipart::MultipartRejection;
use axum::extract::rejection::{FormRejection, QueryRejection};
use axum::extract::{DefaultBodyLimit, Form as FormBody, Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};

use super::desk::{Desk, Reply};
use super::form::Form;
use super::guard::{ICON, guard};
use super::pages::{batch, next, overview, record, sheet};
use super::refused::Refused;

/// Bytes of a form that is no sheet.
const MOST_FORM: usize = 64 << 10;
/// Bytes of a sheet that are read before the connection is given up: more than are taken, so that one who hands over too
/// large a file is told so.
const MOST_READ: usize = 64 << 20;

type Pairs = Vec<(String, String)>;
type Asked = Result<Query<Pairs>, QueryRejection>;
type Sent = Result<FormBody<Pairs>, FormRejection>;
type Shared = State<Arc<Desk>>;
/// The key, which the guard has seen to, and a word behind it.
type Behind<T> = Path<(String, T)>;

/// All pages, behind the guard.
pub fn router(desk: Arc<Desk>) -> Router {
    let sheets = post(take_sheet).layer(DefaultBodyLimit::max(MOST_READ));
    Router::new()
        .route("/{key}", get(to_overview))
        .route("/{key}/", get(show_overview))
        .route("/{key}/next", get(show_next).post(keep_plan))
        .route("/{key}/sheet", get(show_sheet).merge(sheets))
        .route("/{key}/sheet/{word}", get(show_found))
        .route("/{key}/sheet/{word}/settle", post(settle))
        .route("/{key}/sheet/{word}/keep", post(keep_sheet))
        .route("/{key}/sheet/{word}/set-aside/{table}", get(set_aside))
        .route("/{key}/record", get(show_record))
        .route("/{key}/record/new", get(new_batch).post(write_new))
        .route("/{key}/batch", get(show_batch).post(write_outcome))
        .route("/{key}/reading", post(write_reading))
        .route(&format!("/{ICON}"), get(async || StatusCode::NO_CONTENT))
        .fallback(nothing)
        .method_not_allowed_fallback(nothing)
        .layer(DefaultBodyLimit::max(MOST_FORM))
        .layer(axum::middleware::from_fn_with_state(desk.clone(), guard))
        .with_state(desk)
}

/// Does the work of a request on a thread where it may take its time.
async fn work(
    desk: Arc<Desk>,
    job: impl FnOnce(&Desk) -> Result<Reply, Refused> + Send + 'static,
) -> Response {
    let at_work = desk.clone();
    // What is drawn there is drawn whole before anything is sent.
    let done = tokio::task::spawn_blocking(move || {
        let reply = job(&at_work);
        at_work.respond(reply)
    });
    match done.await {
        Ok(response) => response,
        // It panicked: a fault of this program, whose place the terminal has.
        Err(_) => desk.refuse(&Refused::Unforeseen),
    }
}

fn asked(query: Asked) -> Result<Form, Refused> {
    query.map(|Query(pairs)| Form(pairs)).map_err(|e| Refused::Form(e.body_text()))
}

fn sent(form: Sent) -> Result<Form, Refused> {
    form.map(|FormBody(pairs)| Form(pairs)).map_err(|e| Refused::Form(e.body_text()))
}

async fn nothing(State(desk): Shared) -> Response {
    desk.refuse(&Refused::NotFound)
}

async fn to_overview(State(desk): Shared) -> Response {
    desk.respond(Ok(Reply::GoTo(String::new()))).into_response()
}

async fn show_overview(State(desk): Shared) -> Response {
    work(desk, overview::show).await
}

async fn show_next(State(desk): Shared, query: Asked) -> Response {
    work(desk, move |d| next::show(d, &asked(query)?)).await
}

async fn keep_plan(State(desk): Shared, form: Sent) -> Response {
    work(desk, move |d| next::keep(d, &sent(form)?)).await
}

async fn show_record(State(desk): Shared, query: Asked) -> Response {
    work(desk, move |d| record::show(d, &asked(query)?)).await
}

async fn new_batch(State(desk): Shared, query: Asked) -> Response {
    work(desk, move |d| record::new_batch(d, &asked(query)?)).await
}

async fn write_new(State(desk): Shared, form: Sent) -> Response {
    work(desk, move |d| record::write_new(d, &sent(form)?)).await
}

async fn show_batch(State(desk): Shared, query: Asked) -> Response {
    work(desk, move |d| batch::show(d, &asked(query)?)).await
}

async fn write_outcome(State(desk): Shared, form: Sent) -> Response {
    work(desk, move |d| batch::write_outcome(d, &sent(form)?)).await
}

async fn write_reading(State(desk): Shared, form: Sent) -> Response {
    work(desk, move |d| batch::write_reading(d, &sent(form)?)).await
}

async fn show_sheet(State(desk): Shared) -> Response {
    work(desk, sheet::show).await
}

async fn take_sheet(State(desk): Shared, parts: Result<Multipart, MultipartRejection>) -> Response {
    let handed = match parts {
        Ok(mut parts) => sheet::handed_over(&mut parts).await,
        Err(e) => Err(Refused::Form(e.body_text())),
    };
    one_at_a_time(desk, move |d| sheet::look_at(d, handed?)).await
}

async fn show_found(State(desk): Shared, Path((_, word)): Behind<String>) -> Response {
    work(desk, move |d| sheet::show_found(d, &word)).await
}

async fn settle(State(desk): Shared, Path((_, word)): Behind<String>, form: Sent) -> Response {
    one_at_a_time(desk, move |d| sheet::settle(d, &word, &sent(form)?)).await
}

async fn keep_sheet(State(desk): Shared, Path((_, word)): Behind<String>, form: Sent) -> Response {
    one_at_a_time(desk, move |d| sheet::keep(d, &word, &sent(form)?)).await
}

async fn set_aside(State(desk): Shared, Path((_, word, table)): Path<(String, String, usize)>) -> Response {
    work(desk, move |d| sheet::set_aside(d, &word, table)).await
}

/// Reads sheets one after another.
async fn one_at_a_time(
    desk: Arc<Desk>,
    job: impl FnOnce(&Desk) -> Result<Reply, Refused> + Send + 'static,
) -> Response {
    let _turn = desk.reading.lock().await;
    work(desk.clone(), job).await
}
