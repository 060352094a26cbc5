//! A lasting connection of one page (RFC 6455): a moving slider asks many times a second, and a request of its own for each
//! change would cost the browser more than the answer does.
//!
//! A message is a line `NUMBER PATH` and under it what a request to that path would carry; its answer a line `NUMBER STATUS` and
//! what that request would be answered. The tasks and their queues are those of single requests; a message has their limits.

use std::sync::Arc;

use futures_util::{SinkExt, StreamExt};
use hyper::body::{Bytes, Incoming};
use hyper::header::{CONNECTION, HeaderValue, UPGRADE};
use hyper::{Request, StatusCode};
use hyper_util::rt::TokioIo;
use tokio::sync::{Semaphore, mpsc};
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::handshake::derive_accept_key;
use tokio_tungstenite::tungstenite::protocol::{Role, WebSocketConfig};

use super::guard::response;
use super::server::{BODY_WITHIN, HEADERS_WITHIN, Reply, Server, plain, run};
use super::work::{MOST_TEXT, TASKS};

/// Messages of one page under way at one time; more wait unread.
const UNDER_WAY: usize = 8;

/// Makes the connection of a request a lasting one, or says why not.
pub(super) fn accept(server: Arc<Server>, mut request: Request<Incoming>) -> Reply {
    let speaks = match server.guard.admit_lasting(request.headers()) {
        Ok(speaks) => speaks,
        Err((status, words)) => return plain(status, words),
    };
    let header = |name: &str| request.headers().get(name).map(HeaderValue::as_bytes);
    let asked = header("upgrade").is_some_and(|v| v.eq_ignore_ascii_case(b"websocket"))
        && header("sec-websocket-version") == Some(b"13");
    let Some(key) = header("sec-websocket-key").filter(|key| asked && key.len() == 24).map(derive_accept_key) else {
        return plain(StatusCode::BAD_REQUEST, "this is no request for a lasting connection");
    };
    let Ok(key) = HeaderValue::from_str(&key) else {
        return plain(StatusCode::BAD_REQUEST, "this is no request for a lasting connection");
    };
    let Ok(place) = server.lasting.clone().try_acquire_owned() else {
        return plain(StatusCode::SERVICE_UNAVAILABLE, "too many pages are open");
    };
    tokio::spawn(async move {
        if let Ok(Ok(connection)) = timeout(HEADERS_WITHIN, hyper::upgrade::on(&mut request)).await {
            let limits = WebSocketConfig::default().max_message_size(Some(MOST_TEXT)).max_frame_size(Some(MOST_TEXT));
            let socket = WebSocketStream::from_raw_socket(TokioIo::new(connection), Role::Server, Some(limits)).await;
            talk(server, socket).await;
        }
        drop(place);
    });
    let mut reply = response(StatusCode::SWITCHING_PROTOCOLS, "text/plain; charset=utf-8", Bytes::new());
    let headers = reply.headers_mut();
    headers.insert(CONNECTION, HeaderValue::from_static("upgrade"));
    headers.insert(UPGRADE, HeaderValue::from_static("websocket"));
    headers.insert("sec-websocket-accept", key);
    headers.insert("sec-websocket-protocol", speaks);
    reply
}

/// Answers the messages of a connection until it ends.
async fn talk<S>(server: Arc<Server>, socket: WebSocketStream<S>)
where
    S: tokio::io::AsyncRead + tokio::io::AsyncWrite + Unpin + Send + 'static,
{
    let (mut out, mut messages) = socket.split();
    let (answers, mut answered) = mpsc::channel::<Message>(UNDER_WAY);
    tokio::spawn(async move {
        while let Some(answer) = answered.recv().await {
            // Who does not take its answers is left.
            if !matches!(timeout(BODY_WITHIN, out.send(answer)).await, Ok(Ok(()))) {
                break;
            }
        }
    });
    let room = Arc::new(Semaphore::new(UNDER_WAY));
    while let Some(Ok(message)) = messages.next().await {
        let Message::Text(text) = message else { continue };
        let Ok(place) = room.clone().acquire_owned().await else { return };
        let (server, answers) = (server.clone(), answers.clone());
        tokio::spawn(async move {
            let (number, status, words) = answer(server, &text).await;
            let whole = format!("{number} {}\n{words}", status.as_u16());
            // Where the page is gone nobody waits for it.
            let _ = answers.send(Message::text(whole)).await;
            drop(place);
        });
    }
}

/// The answer to one message: its number, how it went, and what is said.
async fn answer(server: Arc<Server>, text: &str) -> (u64, StatusCode, std::borrow::Cow<'static, str>) {
    let (head, body) = text.split_once('\n').unwrap_or((text, ""));
    let asked = head.split_once(' ').and_then(|(number, path)| Some((number.parse::<u64>().ok()?, path)));
    let Some((number, path)) = asked else {
        return (0, StatusCode::BAD_REQUEST, "a message begins with its number and what it asks".into());
    };
    let Some(task) = TASKS.iter().find(|task| task.path == path) else {
        return (number, StatusCode::NOT_FOUND, "there is nothing at this address".into());
    };
    if body.len() > task.most_bytes {
        return (number, StatusCode::PAYLOAD_TOO_LARGE, "this is longer than what is taken here".into());
    }
    let (status, words) = run(server, task, Bytes::copy_from_slice(body.as_bytes())).await;
    (number, status, words)
}
