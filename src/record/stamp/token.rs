//! The signed token inside a time-stamp: who signed it, and whether that fits.

use std::time::Duration;

use chrono::{DateTime, SecondsFormat, Utc};
use cms::cert::CertificateChoices;
use cms::content_info::ContentInfo;
use cms::signed_data::{SignedAttributes, SignedData, SignerIdentifier, SignerInfo};
use der::asn1::{Null, OctetString};
use der::oid::ObjectIdentifier;
use der::{Any, Decode, Encode, Reader, SliceReader};
use rustls_pki_types::pem::PemObject;
use rustls_pki_types::{CertificateDer, SignatureVerificationAlgorithm, TrustAnchor, UnixTime};
use sha1::Sha1;
use sha2::Digest;
use webpki::ring as algorithms;
use x509_cert::Certificate;
use x509_cert::ext::pkix::{ExtendedKeyUsage, SubjectKeyIdentifier};

use crate::record::canonical::hex;
use crate::record::stamp::{SHA_256, SHA_384, SHA_512, StampError, TST_INFO, digest};
use crate::record::wire::shown;

const SIGNED_DATA: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.7.2");
const CONTENT_TYPE: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.9.3");
const MESSAGE_DIGEST: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.9.4");
const SIGNING_CERT: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.9.16.2.12");
const SIGNING_CERT_V2: ObjectIdentifier =
    ObjectIdentifier::new_unwrap("1.2.840.113549.1.9.16.2.47");
const EXTENDED_KEY_USAGE: ObjectIdentifier = ObjectIdentifier::new_unwrap("2.5.29.37");
const SUBJECT_KEY_ID: ObjectIdentifier = ObjectIdentifier::new_unwrap("2.5.29.14");
const TIME_STAMPING: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.3.6.1.5.5.7.3.8");
/// [`TIME_STAMPING`] as the chain checker wants it: the encoded value without tag and length.
const TIME_STAMPING_DER: &[u8] = &[0x2b, 6, 1, 5, 5, 7, 3, 8];

const RSA: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.1.1");
const RSA_SHA_256: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.1.11");
const RSA_SHA_384: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.1.12");
const RSA_SHA_512: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.1.13");
const ECDSA_SHA_256: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.10045.4.3.2");
const ECDSA_SHA_384: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.10045.4.3.3");
const ED25519: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.3.101.112");

/// A token taken apart, not yet believed.
pub(super) struct Token {
    /// The signed content, a TSTInfo.
    pub(super) content: Vec<u8>,
    signer: SignerInfo,
    certificates: Vec<Certificate>,
}

impl Token {
    pub(super) fn read(content: &ContentInfo) -> Result<Self, StampError> {
        expect_oid("token type", content.content_type, SIGNED_DATA)?;
        let form = |source| StampError::Form {
            part: "token",
            source,
        };
        let data: SignedData = content.content.decode_as().map_err(form)?;
        let inner = data.encap_content_info;
        expect_oid("content type", inner.econtent_type, TST_INFO)?;
        let content = inner
            .econtent
            .ok_or(StampError::Missing { part: "content" })?;
        let content: OctetString = content.decode_as().map_err(form)?;
        let mut signers = data.signer_infos.0.into_vec();
        let signer = signers
            .pop()
            .ok_or(StampError::Missing { part: "signer" })?;
        if !signers.is_empty() {
            // RFC 3161, 2.4.2: the authority's signature and no other.
            return Err(StampError::Other {
                part: "number of signers",
                found: (signers.len() + 1).to_string(),
                expected: "1".to_owned(),
            });
        }
        let certificates = data
            .certificates
            .map_or_else(Vec::new, |set| set.0.into_vec());
        let certificates = certificates
            .into_iter()
            .filter_map(|choice| match choice {
                CertificateChoices::Certificate(certificate) => Some(certificate),
                CertificateChoices::Other(_) => None,
            })
            .collect();
        Ok(Self {
            content: content.into_bytes(),
            signer,
            certificates,
        })
    }

    /// Checks attributes, signature and certificate chain, and returns the certificate's subject.
    pub(super) fn verify(
        &self,
        time: DateTime<Utc>,
        trusted_pem: &[u8],
    ) -> Result<String, StampError> {
        let own = self.own_certificate()?;
        let subject = shown(own.tbs_certificate.subject.to_string().as_bytes());
        let der = own.to_der().map_err(|source| StampError::Form {
            part: "certificate",
            source,
        })?;
        let attributes = self
            .signer
            .signed_attrs
            .as_ref()
            .ok_or(StampError::Missing {
                part: "signed attributes",
            })?;
        self.check_attributes(attributes, &der)?;
        self.check_signature(attributes, &der, &subject)?;
        self.check_chain(&der, &subject, time, trusted_pem)?;
        check_usage(own, &subject)?;
        Ok(subject)
    }

    /// The certificate the signer's identifier names.
    fn own_certificate(&self) -> Result<&Certificate, StampError> {
        let named = |certificate: &&Certificate| match &self.signer.sid {
            SignerIdentifier::IssuerAndSerialNumber(id) => {
                certificate.tbs_certificate.issuer == id.issuer
                    && certificate.tbs_certificate.serial_number == id.serial_number
            }
            SignerIdentifier::SubjectKeyIdentifier(id) => key_id(certificate).as_ref() == Some(id),
        };
        self.certificates
            .iter()
            .find(named)
            .ok_or(StampError::Missing {
                part: "certificate of its signer",
            })
    }

    /// RFC 5652, 11.1 and 11.2, and RFC 3161, 2.4.2: type, digest and certificate are signed too.
    fn check_attributes(
        &self,
        attributes: &SignedAttributes,
        certificate: &[u8],
    ) -> Result<(), StampError> {
        let form = |source| StampError::Form {
            part: "signed attributes",
            source,
        };
        let kind = single(attributes, CONTENT_TYPE, "content type attribute")?;
        expect_oid(
            "content type attribute",
            kind.decode_as().map_err(form)?,
            TST_INFO,
        )?;
        let found = single(attributes, MESSAGE_DIGEST, "digest attribute")?;
        let found: OctetString = found.decode_as().map_err(form)?;
        let expected = digest(
            "digest attribute",
            self.signer.digest_alg.oid,
            &self.content,
        )?;
        if found.as_bytes() != expected {
            return Err(other("digest attribute", found.as_bytes(), &expected));
        }
        let (found, expected) = match single(attributes, SIGNING_CERT_V2, "certificate attribute") {
            Ok(value) => certificate_id(value, certificate)?,
            Err(_) => {
                let value = single(attributes, SIGNING_CERT, "certificate attribute")?;
                let (_, found) = first_id(value, false)?;
                (found, Sha1::digest(certificate).to_vec())
            }
        };
        if found == expected {
            Ok(())
        } else {
            Err(other("certificate attribute", &found, &expected))
        }
    }

    fn check_signature(
        &self,
        attributes: &SignedAttributes,
        certificate: &[u8],
        subject: &str,
    ) -> Result<(), StampError> {
        // RFC 5652, 5.4: the attributes are signed as a SET OF, not with their tag in the message.
        let signed = attributes.to_der().map_err(|source| StampError::Form {
            part: "signed attributes",
            source,
        })?;
        let candidates = candidates(
            self.signer.signature_algorithm.oid,
            self.signer.digest_alg.oid,
        )?;
        let certificate = CertificateDer::from(certificate);
        let refused = || StampError::Signature {
            subject: subject.to_owned(),
        };
        let end = webpki::EndEntityCert::try_from(&certificate).map_err(|_| refused())?;
        let fits = |algorithm: &&dyn SignatureVerificationAlgorithm| {
            end.verify_signature(*algorithm, &signed, self.signer.signature.as_bytes())
                .is_ok()
        };
        if candidates.iter().any(fits) {
            Ok(())
        } else {
            Err(refused())
        }
    }

    fn check_chain(
        &self,
        own: &[u8],
        subject: &str,
        time: DateTime<Utc>,
        trusted_pem: &[u8],
    ) -> Result<(), StampError> {
        let refused = |source| StampError::Chain {
            subject: subject.to_owned(),
            time: time.to_rfc3339_opts(SecondsFormat::AutoSi, true),
            source,
        };
        let trusted = trusted(trusted_pem)?;
        let anchors = anchors(&trusted)?;
        let between = self
            .certificates
            .iter()
            .filter_map(|certificate| certificate.to_der().ok());
        let between: Vec<CertificateDer<'_>> = between.map(CertificateDer::from).collect();
        let seconds = u64::try_from(time.timestamp()).unwrap_or(0);
        let own = CertificateDer::from(own);
        webpki::EndEntityCert::try_from(&own)
            .and_then(|end| {
                end.verify_for_usage(
                    webpki::ALL_VERIFICATION_ALGS,
                    &anchors,
                    &between,
                    UnixTime::since_unix_epoch(Duration::from_secs(seconds)),
                    // Authorities' own certificates often carry no usage; the leaf's is checked next.
                    webpki::KeyUsage::required_if_present(TIME_STAMPING_DER),
                    None,
                    None,
                )
                .map(|_| ())
            })
            .map_err(refused)
    }
}

/// RFC 3161, 2.3: one extended key usage, time-stamping, and critical.
fn check_usage(certificate: &Certificate, subject: &str) -> Result<(), StampError> {
    let extensions = certificate.tbs_certificate.extensions.iter().flatten();
    let usage = extensions
        .filter(|extension| extension.extn_id == EXTENDED_KEY_USAGE)
        .find_map(|extension| {
            let usage = ExtendedKeyUsage::from_der(extension.extn_value.as_bytes()).ok()?;
            Some(extension.critical && usage.0 == [TIME_STAMPING])
        });
    if usage == Some(true) {
        Ok(())
    } else {
        Err(StampError::Usage {
            subject: subject.to_owned(),
        })
    }
}

fn key_id(certificate: &Certificate) -> Option<SubjectKeyIdentifier> {
    let extensions = certificate.tbs_certificate.extensions.iter().flatten();
    extensions
        .filter(|extension| extension.extn_id == SUBJECT_KEY_ID)
        .find_map(|extension| SubjectKeyIdentifier::from_der(extension.extn_value.as_bytes()).ok())
}

/// The one value of the one attribute of a type.
fn single<'a>(
    attributes: &'a SignedAttributes,
    kind: ObjectIdentifier,
    part: &'static str,
) -> Result<&'a Any, StampError> {
    let mut found = attributes.iter().filter(|attribute| attribute.oid == kind);
    match (found.next(), found.next()) {
        (Some(one), None) if one.values.len() == 1 => {
            one.values.get(0).ok_or(StampError::Missing { part })
        }
        _ => Err(StampError::Missing { part }),
    }
}

/// The digest in a version 2 certificate attribute, and what it must be.
fn certificate_id(value: &Any, certificate: &[u8]) -> Result<(Vec<u8>, Vec<u8>), StampError> {
    let (algorithm, found) = first_id(value, true)?;
    Ok((
        found,
        digest("certificate attribute", algorithm, certificate)?,
    ))
}

/// `SEQUENCE { SEQUENCE OF SEQUENCE { [algorithm,] digest, … }, … }`: of the first, which is the
/// signer's. The algorithm is there in version 2 alone, and SHA-256 if left out.
fn first_id(value: &Any, version_2: bool) -> Result<(ObjectIdentifier, Vec<u8>), StampError> {
    let form = |source| StampError::Form {
        part: "certificate attribute",
        source,
    };
    let mut outer = SliceReader::new(value.value()).map_err(form)?;
    let list = Any::decode(&mut outer).map_err(form)?;
    let mut list = SliceReader::new(list.value()).map_err(form)?;
    let first = Any::decode(&mut list).map_err(form)?;
    let mut first = SliceReader::new(first.value()).map_err(form)?;
    let mut algorithm = SHA_256;
    if version_2 && first.peek_tag().map_err(form)? == der::Tag::Sequence {
        let identifier = Any::decode(&mut first).map_err(form)?;
        let mut identifier = SliceReader::new(identifier.value()).map_err(form)?;
        algorithm = ObjectIdentifier::decode(&mut identifier).map_err(form)?;
        let _ = Option::<Null>::decode(&mut identifier);
    }
    let found = OctetString::decode(&mut first).map_err(form)?;
    Ok((algorithm, found.into_bytes()))
}

/// The checkers that fit a signature's algorithm and its digest; the key decides among curves.
fn candidates(
    signature: ObjectIdentifier,
    hash: ObjectIdentifier,
) -> Result<Vec<&'static dyn SignatureVerificationAlgorithm>, StampError> {
    // A combined identifier must name the digest that was used, or the attributes were hashed
    // otherwise than the signature says.
    match (signature, hash) {
        (RSA | RSA_SHA_256, SHA_256) => Ok(vec![algorithms::RSA_PKCS1_2048_8192_SHA256]),
        (RSA | RSA_SHA_384, SHA_384) => Ok(vec![algorithms::RSA_PKCS1_2048_8192_SHA384]),
        (RSA | RSA_SHA_512, SHA_512) => Ok(vec![algorithms::RSA_PKCS1_2048_8192_SHA512]),
        (ECDSA_SHA_256, SHA_256) => Ok(vec![
            algorithms::ECDSA_P256_SHA256,
            algorithms::ECDSA_P384_SHA256,
        ]),
        (ECDSA_SHA_384, SHA_384) => Ok(vec![
            algorithms::ECDSA_P256_SHA384,
            algorithms::ECDSA_P384_SHA384,
        ]),
        (ED25519, SHA_512) => Ok(vec![algorithms::ED25519]),
        _ => Err(StampError::Algorithm {
            part: "signature",
            oid: format!("{signature} with digest {hash}"),
        }),
    }
}

fn trusted(pem: &[u8]) -> Result<Vec<CertificateDer<'static>>, StampError> {
    let trusted: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(pem).collect();
    match trusted {
        Ok(trusted) if !trusted.is_empty() => Ok(trusted),
        Ok(_) => Err(StampError::Anchors {
            reason: "there is none in the file".to_owned(),
        }),
        Err(error) => Err(StampError::Anchors {
            reason: error.to_string(),
        }),
    }
}

fn anchors<'a>(trusted: &'a [CertificateDer<'_>]) -> Result<Vec<TrustAnchor<'a>>, StampError> {
    trusted
        .iter()
        .map(|certificate| {
            webpki::anchor_from_trusted_cert(certificate).map_err(|error| StampError::Anchors {
                reason: error.to_string(),
            })
        })
        .collect()
}

fn expect_oid(
    part: &'static str,
    found: ObjectIdentifier,
    expected: ObjectIdentifier,
) -> Result<(), StampError> {
    if found == expected {
        return Ok(());
    }
    Err(StampError::Other {
        part,
        found: found.to_string(),
        expected: expected.to_string(),
    })
}

fn other(part: &'static str, found: &[u8], expected: &[u8]) -> StampError {
    StampError::Other {
        part,
        found: hex(found),
        expected: hex(expected),
    }
}
