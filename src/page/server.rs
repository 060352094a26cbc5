//! The server: connections with time-outs and size limits, and what each address answers.
//!
//! One connection carries one request, or becomes a lasting one ([`super::socket`]). Headers have to come within five seconds and
//! bodies within twenty; what is worked out runs on threads of its own, so that neither a slow client nor a long computation
//! keeps others waiting.

use std::borrow::Cow;
use std::net::TcpListener;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::time::Duration;

use http_body_util::{BodyExt, Full, LengthLimitError, Limited};
use hyper::body::{Bytes, Incoming};
use hyper::service::service_fn;
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use rayon::{ThreadPool, ThreadPoolBuilder};
use tokio::sync::{Semaphore, oneshot};
use tokio::time::timeout;

use super::guard::{Guard, response};
use super::memory::Memory;
use super::work::{Desk, Queue, Task};
use super::{Bench, socket, work};

pub(super) type Reply = Response<Full<Bytes>>;

/// Headers have to be there by then.
pub(super) const HEADERS_WITHIN: Duration = Duration::from_secs(5);
/// A body has to be there by then.
pub(super) const BODY_WITHIN: Duration = Duration::from_secs(20);
/// A connection ends by then, whatever it does.
const ALL_WITHIN: Duration = Duration::from_secs(90);
/// Connections held at one time.
const CONNECTIONS: usize = 400;
/// Changes worked out at one time, loops followed, and longer jobs.
const CHANGES: usize = 2;
const LOOPS: usize = 1;
const JOBS: usize = 1;

const HTML: &str = "text/html; charset=utf-8";
const JSON: &str = "application/json";
const PLAIN: &str = "text/plain; charset=utf-8";

/// Lasting connections held at one time; a page has one.
const LASTING: usize = 40;

/// One run of the server.
pub(super) struct Server {
    pub guard: Guard,
    desk: Desk,
    /// What changes are worked out on: threads of their own, for a loop or a sheet under way would keep its thread for many frames.
    hands: ThreadPool,
    pub lasting: Arc<Semaphore>,
    changes: Arc<Semaphore>,
    loops: Arc<Semaphore>,
    jobs: Arc<Semaphore>,
}

/// Serves the bench on `listener` until the program is ended.
///
/// # Errors
/// When the listener cannot be used.
pub(super) fn serve(listener: TcpListener, guard: Guard, bench: Bench) -> std::io::Result<()> {
    listener.set_nonblocking(true)?;
    let hands = ThreadPoolBuilder::new().build().map_err(std::io::Error::other)?;
    let server = Arc::new(Server {
        hands,
        guard,
        desk: Desk { bench, memory: Memory::default() },
        lasting: Arc::new(Semaphore::new(LASTING)),
        changes: Arc::new(Semaphore::new(CHANGES)),
        loops: Arc::new(Semaphore::new(LOOPS)),
        jobs: Arc::new(Semaphore::new(JOBS)),
    });
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async move {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        let room = Arc::new(Semaphore::new(CONNECTIONS));
        loop {
            let Ok(place) = room.clone().acquire_owned().await else { return Ok(()) };
            let stream = match listener.accept().await {
                Ok((stream, _)) => stream,
                // One connection that could not be taken, or too many open files: others go on.
                Err(_) => {
                    tokio::time::sleep(Duration::from_millis(20)).await;
                    continue;
                }
            };
            let _ = stream.set_nodelay(true);
            let server = server.clone();
            tokio::spawn(async move {
                let answer = service_fn(move |request| {
                    let server = server.clone();
                    async move { Ok::<Reply, std::convert::Infallible>(answer(server, request).await) }
                });
                let connection = hyper::server::conn::http1::Builder::new()
                    .timer(TokioTimer::new())
                    .header_read_timeout(HEADERS_WITHIN)
                    .keep_alive(false)
                    .max_buf_size(32 << 10)
                    .serve_connection(TokioIo::new(stream), answer)
                    .with_upgrades();
                // How a connection ended is the client's affair.
                let _ = timeout(ALL_WITHIN, connection).await;
                drop(place);
            });
        }
    })
}

pub(super) fn plain(status: StatusCode, words: &'static str) -> Reply {
    response(status, PLAIN, words)
}

async fn answer(server: Arc<Server>, request: Request<Incoming>) -> Reply {
    if let Err((status, words)) = server.guard.admit(request.method(), request.headers()) {
        return plain(status, words);
    }
    let path = request.uri().path().to_owned();
    if *request.method() == Method::GET {
        return match path.as_str() {
            "/" => response(StatusCode::OK, HTML, super::PAGE),
            "/page.css" => response(StatusCode::OK, "text/css; charset=utf-8", super::STYLE),
            "/figure.js" => response(StatusCode::OK, "text/javascript; charset=utf-8", super::FIGURE),
            "/page.js" => response(StatusCode::OK, "text/javascript; charset=utf-8", super::SCRIPT),
            "/lasting" => socket::accept(server, request),
            _ => plain(StatusCode::NOT_FOUND, "there is nothing at this address"),
        };
    }
    let Some(task) = work::TASKS.iter().find(|task| task.path == path) else {
        return plain(StatusCode::NOT_FOUND, "there is nothing at this address");
    };
    let body = match body(request, task.most_bytes).await {
        Ok(body) => body,
        Err(reply) => return reply,
    };
    match run(server, task, body).await {
        (StatusCode::OK, json) => response(StatusCode::OK, JSON, json.into_owned()),
        (status, words) => response(status, PLAIN, words.into_owned()),
    }
}

/// Does a task when its turn comes: JSON, or words that say why not.
pub(super) async fn run(server: Arc<Server>, task: &'static Task, body: Bytes) -> (StatusCode, Cow<'static, str>) {
    let queue = match task.queue {
        Queue::Change => &server.changes,
        Queue::Loop => &server.loops,
        Queue::Job => &server.jobs,
    };
    let Ok(place) = queue.clone().acquire_owned().await else {
        return (StatusCode::SERVICE_UNAVAILABLE, "the program is ending".into());
    };
    let of = server.clone();
    let work = move || {
        // Held until the work is done, even when nobody waits for it any more.
        let _place = place;
        (task.run)(&of.desk, &body)
    };
    let worked = match task.queue {
        Queue::Change => on(&server.hands, work).await,
        Queue::Loop | Queue::Job => tokio::task::spawn_blocking(work).await.ok(),
    };
    match worked {
        Some(Ok(json)) => (StatusCode::OK, json.into()),
        Some(Err(words)) => (StatusCode::BAD_REQUEST, words.into()),
        None => (
            StatusCode::INTERNAL_SERVER_ERROR,
            "the program failed on this design; what you typed is kept, and the last good figure stays".into(),
        ),
    }
}

/// Does `work` on one of a pool's threads, the others helping where it is parallel; none where it panicked.
async fn on<T: Send + 'static>(pool: &ThreadPool, work: impl FnOnce() -> T + Send + 'static) -> Option<T> {
    let (tell, told) = oneshot::channel();
    pool.spawn(move || {
        if let Ok(done) = catch_unwind(AssertUnwindSafe(work)) {
            // Where nobody waits any more there is nobody to tell.
            let _ = tell.send(done);
        }
    });
    told.await.ok()
}

/// The body, if it is no longer than allowed and comes in time.
async fn body(request: Request<Incoming>, most: usize) -> Result<Bytes, Reply> {
    let too_long = || plain(StatusCode::PAYLOAD_TOO_LARGE, "this is longer than what is taken here");
    let said =
        request.headers().get("content-length").and_then(|v| v.to_str().ok()).and_then(|v| v.parse::<u64>().ok());
    if said.is_some_and(|said| said > most as u64) {
        return Err(too_long());
    }
    match timeout(BODY_WITHIN, Limited::new(request.into_body(), most).collect()).await {
        Ok(Ok(body)) => Ok(body.to_bytes()),
        Ok(Err(error)) if error.is::<LengthLimitError>() => Err(too_long()),
        Ok(Err(_)) => Err(plain(StatusCode::BAD_REQUEST, "the request broke off")),
        Err(_) => Err(plain(StatusCode::REQUEST_TIMEOUT, "the request came too slowly")),
    }
}
