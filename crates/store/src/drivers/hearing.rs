//! Hearing what other programs say on the same store.

use super::{Pools, Store};
use crate::StoreError;
use sqlx::postgres::{PgListener, PgPool};

/// What `bell` rings.
const CHANNEL: &str = "ostler_changed";

/// Hears when another program on the same store has changed something. Dropping it lets go of its connection.
pub struct Changes(Ear);

enum Ear {
    /// One file, one process: there is no other.
    Alone,
    Server {
        pool: PgPool,
        listener: Option<PgListener>,
    },
}

impl Store {
    /// What other programs change from now on.
    pub fn changes(&self) -> Changes {
        Changes(match &self.pools {
            Pools::Sqlite { .. } => Ear::Alone,
            Pools::Postgres(pool) => Ear::Server { pool: pool.clone(), listener: None },
        })
    }
}

impl Changes {
    /// Waits for a change. Resolves as well whenever it begins to listen, and when the connection was lost, since something
    /// may have been missed. On SQLite it never does.
    ///
    /// # Errors
    /// When the server cannot be reached; it may be asked again after a while.
    pub async fn wait_for_change(&mut self) -> Result<(), StoreError> {
        let Ear::Server { pool, listener } = &mut self.0 else { return std::future::pending().await };
        let failed = |cause| StoreError::of("listening", cause);
        let Some(open) = listener else {
            let mut fresh = PgListener::connect_with(pool).await.map_err(failed)?;
            fresh.listen(CHANNEL).await.map_err(failed)?;
            *listener = Some(fresh);
            return Ok(());
        };
        match open.try_recv().await {
            Ok(Some(_)) => Ok(()),
            Ok(None) => {
                *listener = None;
                Ok(())
            }
            Err(cause) => {
                *listener = None;
                Err(failed(cause))
            }
        }
    }
}
