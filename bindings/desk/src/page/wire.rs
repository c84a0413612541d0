//! Connections: accepts them, lets none stand half-sent, and finishes what is being answered at the end.

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};

/// A browser opens six or so; more than this many at once is no browser.
const MOST_CONNECTIONS: usize = 64;

/// Largest head of a request. Tokens travel in the address when a file is handed in, so it is not tiny.
const LARGEST_HEAD: usize = 64 * 1024;

/// How long the last answers may take at the end.
const LAST_ANSWERS: Duration = Duration::from_secs(5);

/// Accepts connections until `stop` is ready.
pub(super) async fn accept(listener: TcpListener, router: Router, patience: Duration, stop: impl Future<Output = ()>) {
    let (ending, ended) = watch::channel(());
    let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    let mut stop = std::pin::pin!(stop);
    loop {
        let Ok(place) = Arc::clone(&room).acquire_owned().await else { break };
        let stream = tokio::select! {
            taken = listener.accept() => taken,
            () = &mut stop => break,
        };
        let Ok((stream, _)) = stream else {
            // Out of file handles, or a peer that left at once: wait a moment, then go on.
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let (router, ended) = (router.clone(), ended.clone());
        tokio::spawn(async move {
            one(stream, router, patience, ended).await;
            drop(place);
        });
    }
    drop(listener);
    drop(ended);
    let _ = ending.send(());
    let _ = tokio::time::timeout(LAST_ANSWERS, ending.closed()).await;
}

async fn one(stream: TcpStream, router: Router, patience: Duration, mut ended: watch::Receiver<()>) {
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(patience)
        .max_buf_size(LARGEST_HEAD)
        .serve_connection(TokioIo::new(stream), TowerToHyperService::new(router));
    let mut connection = std::pin::pin!(connection);
    tokio::select! {
        // A peer that breaks the rules of HTTP is simply left.
        _ = connection.as_mut() => return,
        _ = ended.changed() => connection.as_mut().graceful_shutdown(),
    }
    let _ = connection.await;
}
