//! Secrets of this installation, which seal cursors and sign links.

use crate::{Conn, StoreError};

statements! {
    SECRET = { "SELECT secret FROM installation WHERE name = $1" }
    INSERT_SECRET = { "INSERT INTO installation (name, secret) VALUES ($1, $2) ON CONFLICT (name) DO NOTHING" }
}

/// The secret of that name, if there is one.
pub async fn secret(conn: &mut Conn<'_>, name: &str) -> Result<Option<Vec<u8>>, StoreError> {
    let row = fetch!(fetch_optional, conn, (Vec<u8>,), SECRET, name)?;
    Ok(row.map(|(secret,)| secret))
}

/// Keeps a secret unless there is one of that name: of several replicas starting at once, the first wins.
pub async fn insert_secret(conn: &mut Conn<'_>, name: &str, secret: &[u8]) -> Result<(), StoreError> {
    execute!(conn, INSERT_SECRET, name, secret)?;
    Ok(())
}
