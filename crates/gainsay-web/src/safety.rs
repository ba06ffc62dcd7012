//! Who may ask, and what an answer carries.
//!
//! The page stands on this machine for the person who sits before it. Other pages in the same browser must not read or change it:
//! the host has to be the one that is listened on (against DNS rebinding), and whatever changes anything has to come from the page
//! itself (against cross-site requests). Where another address than the loopback is asked for, every visitor has to bring a token.

use crate::pages::gear::sheet::LARGEST_REQUEST;
use crate::{Limits, layout, words};
use axum::Router;
use axum::body::{Body, Bytes, HttpBody};
use axum::extract::{DefaultBodyLimit, Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use tokio::sync::Semaphore;

/// Largest body of a request: a specification text or a case file, and room to spare.
const LARGEST_BODY: usize = 1 << 20;
/// As much of a larger body is read and dropped: a browser that is still sending doesn't read why it is refused.
const DROPPED: usize = 64 << 20;

/// Nothing but what the page itself brings; no scripts in the markup.
const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' \
     data:; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

#[derive(Clone)]
pub(crate) struct Safety(Arc<Rules>);

struct Rules {
    /// Hosts under which this may be asked for.
    hosts: Vec<String>,
    token: Option<String>,
    places: Semaphore,
    limits: Limits,
    /// Has an owner for each request that is being answered, and two more.
    answering: Arc<()>,
}

impl Safety {
    pub(crate) fn new(
        address: SocketAddr,
        token: Option<String>,
        limits: Limits,
        answering: Arc<()>,
    ) -> Self {
        let port = address.port();
        let mut hosts = vec![address.to_string()];
        if address.ip().is_loopback() || address.ip().is_unspecified() {
            hosts.extend([format!("localhost:{port}"), format!("127.0.0.1:{port}"), format!("[::1]:{port}")]);
        }
        if port == 80 {
            let without: Vec<String> =
                hosts.iter().filter_map(|host| host.strip_suffix(":80").map(str::to_owned)).collect();
            hosts.extend(without);
        }
        let places = Semaphore::new(limits.at_once);
        Self(Arc::new(Rules { hosts, token, places, limits, answering }))
    }

    /// Whether a request may be answered; otherwise why not.
    fn refusal(&self, request: &Request) -> Option<(StatusCode, &'static str)> {
        let rules = &self.0;
        let headers = request.headers();
        let host = headers.get(header::HOST).and_then(|host| host.to_str().ok());
        // Who brings the token may come under any name that leads here.
        if rules.token.is_none() && !host.is_some_and(|host| rules.hosts.iter().any(|known| known == host)) {
            return Some((StatusCode::MISDIRECTED_REQUEST, "This page is not served under that name."));
        }
        if let Some(token) = &rules.token
            && !brings(request, token)
        {
            return Some((
                StatusCode::UNAUTHORIZED,
                "Open the address with the token that was printed at the start.",
            ));
        }
        let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
        if changes && !same_origin(headers, host.unwrap_or_default()) {
            return Some((StatusCode::FORBIDDEN, "Changes are only taken from the page itself."));
        }
        None
    }
}

/// Whether a request carries the token: in its address (once, then in a cookie).
fn brings(request: &Request, token: &str) -> bool {
    let in_query = request.uri().query().is_some_and(|query| {
        query.split('&').filter_map(|part| part.strip_prefix("token=")).any(|given| equal(given, token))
    });
    let cookies = request.headers().get_all(header::COOKIE);
    let mut in_cookie = cookies
        .iter()
        .filter_map(|cookie| cookie.to_str().ok())
        .flat_map(|cookie| cookie.split(';'))
        .filter_map(|pair| pair.trim().strip_prefix("gainsay-token="));
    in_query || in_cookie.any(|given| equal(given, token))
}

/// Compares without telling by its time where two texts differ.
fn equal(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |sum, (a, b)| sum | (a ^ b)) == 0
}

/// Browsers say where a request comes from. One that says nothing is no browser and can't be misled by a page.
fn same_origin(headers: &HeaderMap, host: &str) -> bool {
    let text = |name: header::HeaderName| headers.get(name).map(|value| value.to_str().unwrap_or("?"));
    if let Some(site) = headers.get("sec-fetch-site").map(|value| value.to_str().unwrap_or("?"))
        && site != "same-origin"
        && site != "none"
    {
        return false;
    }
    let is_here = |origin: &str| {
        let rest = origin.strip_prefix("http://").or_else(|| origin.strip_prefix("https://"));
        rest.is_some_and(|rest| rest == host || rest.starts_with(&format!("{host}/")))
    };
    text(header::ORIGIN).is_none_or(is_here) && text(header::REFERER).is_none_or(is_here)
}

/// Puts a router behind the rules.
pub(crate) fn protect(router: Router, safety: Safety) -> Router {
    router.layer(DefaultBodyLimit::max(LARGEST_BODY)).layer(from_fn_with_state(safety, guard))
}

/// Tells everybody that there are too many.
pub(crate) fn too_many() -> Router {
    let why = "Too many connections are open to this page. Close some of its windows, and load it again.";
    Router::new().fallback(async move || finished(layout::error(StatusCode::SERVICE_UNAVAILABLE, why), false))
}

async fn guard(State(safety): State<Safety>, request: Request, next: Next) -> Response {
    let rules = &safety.0;
    let _answering = Arc::clone(&rules.answering);
    if let Some((status, why)) = safety.refusal(&request) {
        return finished(layout::error(status, why), false);
    }
    let cookie = rules.token.as_ref().filter(|_| request.uri().query().is_some_and(|q| q.contains("token=")));
    let cookie = cookie.and_then(|token| {
        HeaderValue::from_str(&format!("gainsay-token={token}; HttpOnly; SameSite=Strict; Path=/")).ok()
    });
    let path = request.uri().path();
    let (is_asset, largest) = (path.starts_with("/assets/"), largest(path));
    // All of a request is there before it has a turn: who sends slowly takes none from others.
    let (parts, body) = request.into_parts();
    let received = tokio::time::timeout(rules.limits.body, received(body, largest)).await;
    let body = match received {
        Ok(Ok(body)) => body,
        Ok(Err(status)) => return finished(layout::error(status, reason(status)), false),
        Err(_) => {
            let status = StatusCode::REQUEST_TIMEOUT;
            return finished(layout::error(status, reason(status)), false);
        }
    };
    let request = Request::from_parts(parts, Body::from(body));
    let answered = tokio::time::timeout(rules.limits.answer, async {
        // What stands ready needs no turn.
        let _place = if is_asset { None } else { rules.places.acquire().await.ok() };
        next.run(request).await
    });
    let mut response = match answered.await {
        Ok(response) => finished(response, is_asset),
        Err(_) => finished(layout::error(StatusCode::SERVICE_UNAVAILABLE, "That took too long."), false),
    };
    if let Some(cookie) = cookie {
        response.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    response
}

/// The whole body of a request, if it is not too large.
async fn received(mut body: Body, largest: usize) -> Result<Bytes, StatusCode> {
    let announced = body.size_hint().lower();
    let (mut bytes, mut length) = (Vec::new(), 0_usize);
    let is_too_large = |length| length > largest || announced > largest as u64;
    loop {
        let frame = std::future::poll_fn(|context| Pin::new(&mut body).poll_frame(context)).await;
        let Some(frame) = frame else { break };
        let Ok(data) = frame.map_err(|_| StatusCode::BAD_REQUEST)?.into_data() else { continue };
        length = length.saturating_add(data.len());
        if length > DROPPED {
            break;
        }
        if is_too_large(length) {
            bytes = Vec::new();
        } else {
            bytes.extend_from_slice(&data);
        }
    }
    if is_too_large(length) { Err(StatusCode::PAYLOAD_TOO_LARGE) } else { Ok(bytes.into()) }
}

/// Why a request can't be answered, where the page itself doesn't say it.
fn reason(status: StatusCode) -> &'static str {
    match status {
        StatusCode::BAD_REQUEST => "This address, or what was sent to it, can't be read.",
        StatusCode::NOT_FOUND => words::NOT_FOUND,
        StatusCode::METHOD_NOT_ALLOWED => "This address can't be asked for in that way.",
        StatusCode::REQUEST_TIMEOUT => "It took too long to send that. Try again.",
        StatusCode::PAYLOAD_TOO_LARGE => "That is more than a case or a sheet can be.",
        StatusCode::UNSUPPORTED_MEDIA_TYPE => "Only forms are taken here.",
        StatusCode::UNPROCESSABLE_ENTITY => {
            "Something that belongs to this form is missing, or can't be read."
        }
        _ if status.is_server_error() => "That went wrong; nothing was changed.",
        _ => "That can't be answered.",
    }
}

/// A page in the place of an answer that says what is wrong in a program's words, or not at all.
fn in_words(response: Response) -> Response {
    let (status, headers) = (response.status(), response.headers());
    let is_page = headers.get(header::CONTENT_TYPE).is_some_and(|of| of.as_bytes().starts_with(b"text/html"));
    if is_page || !(status.is_client_error() || status.is_server_error()) {
        return response;
    }
    let mut page = layout::error(status, reason(status));
    if let Some(allowed) = headers.get(header::ALLOW) {
        page.headers_mut().insert(header::ALLOW, allowed.clone());
    }
    page
}

/// Largest body of a request to an address.
fn largest(path: &str) -> usize {
    if path == "/gear/sheet" { LARGEST_REQUEST } else { LARGEST_BODY }
}

/// The headers of every answer.
fn finished(response: Response, is_asset: bool) -> Response {
    let mut response = in_words(response);
    let is_asset = is_asset && response.status().is_success();
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, CONTENT_SECURITY_POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_FRAME_OPTIONS, "DENY"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.insert("cross-origin-opener-policy", HeaderValue::from_static("same-origin"));
    headers.insert("cross-origin-resource-policy", HeaderValue::from_static("same-origin"));
    // Asked for anew each time; but who goes back, to a form that could not be sent, finds what was typed there.
    if !is_asset && !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("private, no-cache"));
    }
    response
}

/// Runs what takes the processor for longer than a moment, away from the threads that answer.
pub(crate) async fn working<T: Send + 'static>(
    what: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Response> {
    tokio::task::spawn_blocking(what).await.map_err(|_| {
        layout::error(StatusCode::INTERNAL_SERVER_ERROR, "That went wrong; nothing was changed.")
            .into_response()
    })
}

/// A body that is there already.
pub(crate) fn body(bytes: impl Into<Bytes>) -> Body {
    Body::from(bytes.into())
}
