//! Whose certificates are believed.

use crate::settings::SettingsError;
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use rustls::{ClientConfig, RootCertStore};
use std::path::Path;
use std::sync::Arc;

/// TLS that believes the public authorities, and those in `ca_file` besides.
///
/// # Errors
/// [`SettingsError::Certificates`] if the file cannot be read or holds no certificate.
pub fn trusted(ca_file: Option<&Path>) -> Result<Arc<ClientConfig>, SettingsError> {
    let mut roots = RootCertStore { roots: webpki_roots::TLS_SERVER_ROOTS.to_vec() };
    if let Some(path) = ca_file {
        add(&mut roots, path)
            .map_err(|source| SettingsError::Certificates { path: path.to_owned(), source })?;
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let versions = ClientConfig::builder_with_provider(provider).with_safe_default_protocol_versions()?;
    Ok(Arc::new(versions.with_root_certificates(roots).with_no_client_auth()))
}

fn add(roots: &mut RootCertStore, path: &Path) -> Result<(), Box<dyn std::error::Error + Send + Sync>> {
    let before = roots.len();
    for certificate in CertificateDer::pem_file_iter(path)? {
        roots.add(certificate?)?;
    }
    if roots.len() == before { Err("it holds no certificate".into()) } else { Ok(()) }
}
