//! Connections: how many, how long, how large. One thread waits for all of them; pages are made on threads that may wait for the disk.

use std::collections::HashMap;
use std::convert::Infallible;
use std::net::{IpAddr, SocketAddr};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use http_body_util::{BodyExt, Full, Limited};
use hyper::body::{Bytes, Incoming};
use hyper::header::{self, HeaderName, HeaderValue};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Notify, OwnedSemaphorePermit, Semaphore};
use tokio::time::timeout;

use super::asked::{Ask, Reply, fields, words};
use super::door::{self, Comer, Way};
use super::{ahead, pages, writing};
use crate::report::Trouble;
use crate::serve::standing::Serving;

/// Connections at once: ten phones with a few each.
const CONNECTIONS: usize = 64;
/// Of those, from one address; a browser opens six.
const OF_ONE: usize = 16;
/// A head must be there within so long, and is no longer than this.
const HEAD: Duration = Duration::from_secs(10);
const LARGEST_HEAD: usize = 16 * 1024;
const MOST_HEADERS: usize = 64;
/// A form must be there within so long, and is no longer than this.
const FORM: Duration = Duration::from_secs(10);
const LARGEST_FORM: usize = 64 * 1024;
/// A connection is closed after so long, whatever it does.
const LONGEST: Duration = Duration::from_secs(180);
/// What is being recorded as it is stopped has so long.
const LAST_WORD: Duration = Duration::from_secs(8);
/// How often it is looked whether that is done.
const A_MOMENT: Duration = Duration::from_millis(40);
/// What the first pages ask is weighed for so long before the address is said.
const FIRST_WEIGHING: Duration = Duration::from_secs(2);
/// Pages that are made at once.
const THREADS: usize = 4;

/// What no page of ours may do in a browser: run anything, load anything but our style, be framed, be kept, send a form elsewhere.
const ALWAYS: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; style-src 'self'; img-src data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::CACHE_CONTROL, "no-store"),
    // With none at all a browser would not say from where a form is.
    (header::REFERRER_POLICY, "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];
/// No window of another page holds on to ours. A browser hears it of this machine itself alone: of an address on the network, which nobody
/// vouches for, it only writes into its console that it does not.
const OPENER: (HeaderName, &str) = (HeaderName::from_static("cross-origin-opener-policy"), "same-origin");

/// Serves until somebody stops it; `started` is called once it listens.
pub(super) fn until_stopped(
    listener: std::net::TcpListener,
    standing: Serving,
    started: impl FnOnce() -> Result<(), Trouble>,
) -> Result<(), Trouble> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .max_blocking_threads(THREADS)
        .build()
        .map_err(|error| cannot(&error))?;
    let served = runtime.block_on(async {
        listener.set_nonblocking(true).map_err(|error| cannot(&error))?;
        let listener = TcpListener::from_std(listener).map_err(|error| cannot(&error))?;
        let stopped = stopped().map_err(|error| cannot(&error))?;
        let room = Arc::new(Semaphore::new(CONNECTIONS));
        let busy = Arc::clone(&standing.busy);
        // Who is told the address finds every page ready to be made; a large garage is not waited for.
        ahead::read_ahead(&standing.order.root);
        standing.weigh_ahead();
        let _ = timeout(FIRST_WEIGHING, weighed(&standing)).await;
        let accepting = tokio::spawn(accept(listener, Arc::new(standing), Arc::clone(&room)));
        started()?;
        stopped.notified().await;
        accepting.abort();
        // Who has asked is answered; who only listens is not waited for.
        let _ = timeout(LAST_WORD, all_answered(&busy)).await;
        Ok(())
    });
    // What is being recorded is recorded.
    runtime.shutdown_timeout(LAST_WORD);
    served
}

fn cannot(error: &std::io::Error) -> Trouble {
    Trouble::request(
        None,
        format!("It cannot be served: {error}."),
        "Try again, or take another port with --port.",
    )
}

/// Waits until what is weighed ahead is weighed.
async fn weighed(standing: &Serving) {
    while standing.ahead.is_busy() {
        tokio::time::sleep(A_MOMENT).await;
    }
}

/// Waits until every request has its answer, and the answer is on its way.
async fn all_answered(busy: &AtomicUsize) {
    while busy.load(Ordering::SeqCst) > 0 {
        tokio::time::sleep(A_MOMENT).await;
    }
    tokio::time::sleep(A_MOMENT).await;
}

/// Told when somebody presses Ctrl-C, or the machine ends it.
fn stopped() -> std::io::Result<Arc<Notify>> {
    let told = Arc::new(Notify::new());
    #[cfg(unix)]
    for kind in [tokio::signal::unix::SignalKind::interrupt(), tokio::signal::unix::SignalKind::terminate()] {
        let mut signal = tokio::signal::unix::signal(kind)?;
        let told = Arc::clone(&told);
        tokio::spawn(async move {
            signal.recv().await;
            told.notify_one();
        });
    }
    #[cfg(not(unix))]
    {
        let told = Arc::clone(&told);
        tokio::spawn(async move {
            let _ = tokio::signal::ctrl_c().await;
            told.notify_one();
        });
    }
    Ok(told)
}

/// Connections by the address that they are from.
type ByAddress = Arc<Mutex<HashMap<IpAddr, usize>>>;

/// One connection's room, given back when it ends.
struct Seat {
    _room: OwnedSemaphorePermit,
    all: ByAddress,
    from: IpAddr,
}

impl Seat {
    /// Room for one more, if there is.
    fn take(room: &Arc<Semaphore>, all: &ByAddress, from: IpAddr) -> Option<Self> {
        let room = Arc::clone(room).try_acquire_owned().ok()?;
        let mut counted = all.lock().ok()?;
        let of_this = counted.entry(from).or_default();
        if *of_this >= OF_ONE {
            return None;
        }
        *of_this += 1;
        drop(counted);
        Some(Self { _room: room, all: Arc::clone(all), from })
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        let Ok(mut all) = self.all.lock() else { return };
        if let Some(of_this) = all.get_mut(&self.from) {
            *of_this -= 1;
            if *of_this == 0 {
                all.remove(&self.from);
            }
        }
    }
}

async fn accept(listener: TcpListener, standing: Arc<Serving>, room: Arc<Semaphore>) {
    let all = ByAddress::default();
    loop {
        let Ok((stream, from)) = listener.accept().await else {
            // No more files may be open, for a while.
            tokio::time::sleep(Duration::from_millis(100)).await;
            continue;
        };
        // Who finds no room finds a closed door, and tries again.
        let Some(seat) = Seat::take(&room, &all, from.ip()) else { continue };
        let standing = Arc::clone(&standing);
        tokio::spawn(async move {
            let _seat = seat;
            let _ = timeout(LONGEST, talk(stream, from, standing)).await;
        });
    }
}

async fn talk(stream: TcpStream, from: SocketAddr, standing: Arc<Serving>) {
    let Ok(at) = stream.local_addr() else { return };
    let service = service_fn(move |request| {
        let standing = Arc::clone(&standing);
        async move { Ok::<_, Infallible>(respond(request, (from.ip(), at), standing).await) }
    });
    // A connection that breaks is a phone that went out of reach.
    let _ = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD)
        .max_buf_size(LARGEST_HEAD)
        .max_headers(MOST_HEADERS)
        .serve_connection(TokioIo::new(stream), service)
        .await;
}

/// A request that has no answer yet, also where its phone goes out of reach.
struct Busy(Arc<AtomicUsize>);

impl Drop for Busy {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

async fn respond(
    request: Request<Incoming>,
    (from, at): (IpAddr, SocketAddr),
    standing: Arc<Serving>,
) -> Response<Full<Bytes>> {
    let only_head = request.method() == Method::HEAD;
    standing.busy.fetch_add(1, Ordering::SeqCst);
    let _busy = Busy(Arc::clone(&standing.busy));
    let reply = reply(request, (from, at), &standing).await;
    let status = StatusCode::from_u16(reply.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    let body = if only_head { Bytes::new() } else { Bytes::from(reply.body) };
    let mut response = Response::new(Full::new(body));
    *response.status_mut() = status;
    let headers = response.headers_mut();
    for (name, value) in ALWAYS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if at.ip().is_loopback() {
        headers.insert(OPENER.0, HeaderValue::from_static(OPENER.1));
    }
    let kind = if reply.is_style { "text/css; charset=utf-8" } else { "text/html; charset=utf-8" };
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    let mut say = |name: HeaderName, value: Option<String>| {
        let value = value.and_then(|value| HeaderValue::from_str(&value).ok());
        value.map(|value| headers.insert(name, value));
    };
    say(header::REFERRER_POLICY, reply.by_address.then(|| "no-referrer".to_owned()));
    say(header::LOCATION, reply.to);
    say(header::RETRY_AFTER, reply.wait_s.map(|seconds| seconds.to_string()));
    say(header::SET_COOKIE, reply.lets_in.then(|| door::cookie(&standing, at.port())));
    if status == StatusCode::METHOD_NOT_ALLOWED {
        say(header::ALLOW, Some("GET, HEAD, POST".to_owned()));
    }
    response
}

async fn reply(
    request: Request<Incoming>,
    (from, at): (IpAddr, SocketAddr),
    standing: &Arc<Serving>,
) -> Reply {
    let writes = match *request.method() {
        Method::GET | Method::HEAD => false,
        Method::POST => true,
        _ => return Reply::refused(405, "Pages are read, and forms are sent; nothing else is done here."),
    };
    let (head, body) = request.into_parts();
    let comer = Comer { from, at, headers: &head.headers };
    if let Some(stop) = door::stop(standing, &comer, writes) {
        return stop;
    }
    // An address with a machine in it is for somebody else.
    let path = if head.uri.authority().is_some() { None } else { words(head.uri.path()) };
    let Some(path) = path else { return Reply::refused(404, "There is no such page. The bikes are at /.") };
    let typed = if writes {
        match form(body, &comer).await {
            Ok(typed) => typed,
            Err(refused) => return refused,
        }
    } else {
        head.uri.query().unwrap_or_default().as_bytes().to_vec()
    };
    let Some(typed) = fields(&typed) else { return Reply::refused(413, "The form has too many fields.") };
    let ask = Ask { path, typed };
    let (ask, again) = match door::answer(standing, &comer, writes, &ask) {
        Way::Said(said) => return said,
        Way::Inside => (ask, false),
        Way::Again(ask) => (ask, true),
    };
    let making = Arc::clone(standing);
    let made = tokio::task::spawn_blocking(move || match (again, writes) {
        (true, _) => writing::again(&making, &ask),
        (false, true) => writing::answer(&making, &ask),
        (false, false) => pages::answer(&making, &ask),
    });
    let mut reply = made.await.unwrap_or_else(|_| {
        Reply::refused(500, "The page failed. What was sent may be recorded or not: look at the history before you send it again.")
    });
    // At the laptop itself a page that was shown lets its forms in.
    reply.lets_in = again || (!writes && standing.keys.pass_key().is_none());
    reply
}

/// The form that was sent, within its bounds.
async fn form(body: Incoming, comer: &Comer<'_>) -> Result<Vec<u8>, Reply> {
    let kind =
        comer.headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    if kind.split(';').next().map(str::trim) != Some("application/x-www-form-urlencoded") {
        return Err(Reply::refused(415, "Only forms of these pages are read."));
    }
    match timeout(FORM, Limited::new(body, LARGEST_FORM).collect()).await {
        Ok(Ok(body)) => Ok(body.to_bytes().to_vec()),
        Ok(Err(error)) if error.is::<http_body_util::LengthLimitError>() => {
            Err(Reply::refused(413, "The form is too long: 64 kB at most. Nothing was recorded."))
        }
        Ok(Err(_)) => Err(Reply::refused(400, "The form broke off. Nothing was recorded.")),
        Err(_) => Err(Reply::refused(408, "The form took too long. Nothing was recorded.")),
    }
}
