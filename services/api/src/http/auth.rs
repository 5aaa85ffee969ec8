//! Who asks, and whether they may.

use super::operation::Operation;
use super::refusal::Refusal;
use crate::app::App;
use actix_web::http::header::{AUTHORIZATION, HeaderMap};
use clerk::keys::KeyHolder;
use model::{FleetId, VehicleId};

/// The holder of the key a request brings, if the key opens the fleet in the path, the vehicle in the path where it is
/// bound to one, and the operation.
///
/// # Errors
/// 401, then 404 for another fleet or vehicle (as for one that never was), then 403.
pub async fn admit(
    app: &App,
    headers: &HeaderMap,
    operation: &Operation,
    fleet: Option<FleetId>,
    vehicle: Option<&str>,
) -> Result<KeyHolder, Refusal> {
    let key = bearer(headers).ok_or_else(Refusal::not_signed_in)?.to_owned();
    // On the program's own runtime: a connection to the store must not belong to a thread that ends with the server.
    let clerk = app.clerk.clone();
    let found = app.spawn(async move { clerk::keys::authenticate(&clerk, &key).await }).await;
    let found = found.map_err(|broken| {
        tracing::error!(error = &broken as &dyn std::error::Error, "looking up a key broke off");
        Refusal::internal()
    })?;
    let holder = found?.ok_or_else(Refusal::not_signed_in)?;
    if fleet != Some(holder.fleet) {
        return Err(Refusal::not_found());
    }
    if let Some(bound) = holder.vehicle {
        let named = vehicle.and_then(contract::parse_id).map(VehicleId);
        if vehicle.is_some() && named != Some(bound) {
            return Err(Refusal::not_found());
        }
        if vehicle.is_none() {
            return Err(Refusal::not_allowed("This key is bound to one vehicle and reaches nothing else."));
        }
    }
    if !holder.may(operation.scope) {
        let detail = format!("{} needs the scope `{}`, which this key lacks.", operation.id, operation.scope);
        return Err(Refusal::not_allowed(detail));
    }
    Ok(holder)
}

/// The key of `Authorization: Bearer KEY` (RFC 6750).
fn bearer(headers: &HeaderMap) -> Option<&str> {
    let mut given = headers.get_all(AUTHORIZATION);
    let (one, more) = (given.next()?, given.next());
    if more.is_some() {
        return None;
    }
    let (scheme, key) = one.to_str().ok()?.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| key.trim())
}

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::http::header::HeaderValue;

    #[test]
    fn a_key_is_taken_from_one_bearer_header_and_from_nothing_else() {
        let key = |values: &[&'static str]| {
            let mut headers = HeaderMap::new();
            for value in values {
                headers.append(AUTHORIZATION, HeaderValue::from_static(value));
            }
            bearer(&headers).map(str::to_owned)
        };
        assert_eq!(key(&["Bearer ostler_x"]).as_deref(), Some("ostler_x"));
        assert_eq!(key(&["bearer  ostler_x"]).as_deref(), Some("ostler_x"));
        for other in [&[][..], &["Basic YTpi"], &["Bearer"], &["Bearer a", "Bearer b"]] {
            assert_eq!(key(other), None, "{other:?}");
        }
    }
}
