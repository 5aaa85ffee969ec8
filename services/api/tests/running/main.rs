//! The interface as its clients meet it: a server on a socket of its own, over the store on SQLite.

mod acting;
mod asking;
mod batches;
mod described;
mod keys;
mod lists;
mod policy;
mod refusing;
mod replicas;
mod schedules;
mod vehicles;

/// Several threads, as in the program itself.
#[macro_export]
macro_rules! stories {
    ($($(#[$doc:meta])* async fn $story:ident($server:ident) $body:block)+) => {$(
        $(#[$doc])*
        #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
        async fn $story() {
            let $server = $crate::asking::Server::start().await;
            $body
            $server.stop().await;
        }
    )+};
}
