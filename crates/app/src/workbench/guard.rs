//! Who is let in: whoever has the address with its token, from a page of this very server. A page from elsewhere that is
//! made to reach a port of this machine, by a name that leads here or otherwise, is refused.

use axum::http::header::{HOST, HeaderMap, HeaderName, HeaderValue, ORIGIN};
use axum::http::{Method, header};

/// Letters of the token.
const DIGITS: usize = 32;

/// What a page of ours may do: run our scripts and talk to us, nothing else; no script or style stands in the page itself.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
                      font-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; \
                      frame-ancestors 'none'";

/// The key in the address.
#[derive(Clone, Debug)]
pub(super) struct Token(String);

impl Token {
    /// One that nobody can guess.
    pub(super) fn new() -> Result<Self, getrandom::Error> {
        let mut bytes = [0u8; DIGITS / 2];
        getrandom::fill(&mut bytes)?;
        Ok(Self(bytes.iter().map(|byte| format!("{byte:02x}")).collect()))
    }

    pub(super) fn as_str(&self) -> &str {
        &self.0
    }

    /// Whether some text is it; how long that takes does not tell where they differ.
    fn is(&self, text: &str) -> bool {
        text.len() == self.0.len() && text.bytes().zip(self.0.bytes()).fold(0, |d, (a, b)| d | (a ^ b)) == 0
    }
}

/// Why a request is refused, in a sentence; none if it is not.
pub(super) fn refusal(
    token: &Token,
    port: u16,
    method: &Method,
    path: &str,
    headers: &HeaderMap,
) -> Option<&'static str> {
    let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let Some(host) = one(headers, &HOST).filter(|host| hosts.iter().any(|own| own == host)) else {
        return Some("This server answers by its own address only.");
    };
    let own = |origin: &str| origin.strip_prefix("http://").is_some_and(|rest| rest == host);
    match (one(headers, &ORIGIN), headers.contains_key(ORIGIN)) {
        (Some(origin), _) if !own(origin) => return Some("Pages from elsewhere are not answered."),
        (None, true) => return Some("Pages from elsewhere are not answered."),
        (None, false) if method != Method::GET => return Some("Only the page of this server may ask that."),
        _ => {}
    }
    let site = HeaderName::from_static("sec-fetch-site");
    let (from, got) = (one(headers, &site), method == Method::GET);
    if from.is_some_and(|from| from == "cross-site" && !(got && navigates(headers))) {
        return Some("Pages from elsewhere are not answered.");
    }
    let first = path.trim_start_matches('/').split('/').next().unwrap_or_default();
    if token.is(first) {
        None
    } else {
        Some("The address lacks its key: take the one that `coilwright open` wrote.")
    }
}

/// A link in a mail or a terminal leads here from another site.
fn navigates(headers: &HeaderMap) -> bool {
    one(headers, &HeaderName::from_static("sec-fetch-mode")) == Some("navigate")
}

/// The value of a header that stands once.
fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?.to_str().ok()?;
    all.next().is_none().then_some(first)
}

/// What every answer carries.
pub(super) fn armour(headers: &mut HeaderMap) {
    let fixed = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(method: Method, path: &str, headers: &[(&'static str, &'static str)]) -> bool {
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.append(HeaderName::from_static(name), HeaderValue::from_static(value));
        }
        refusal(&Token("ab12".into()), 4000, &method, path, &map).is_some()
    }

    #[test]
    fn only_its_own_page_with_the_key_is_let_in() {
        let own = ("host", "127.0.0.1:4000");
        let origin = ("origin", "http://127.0.0.1:4000");
        assert!(!refused(Method::GET, "/ab12/", &[own]));
        assert!(!refused(Method::POST, "/ab12/ask", &[own, origin]));
        assert!(!refused(Method::GET, "/ab12/", &[("host", "localhost:4000")]));
        for (method, path, headers) in [
            (Method::GET, "/", vec![own]),
            (Method::GET, "/ab13/", vec![own]),
            (Method::GET, "/ab1/", vec![own]),
            (Method::GET, "/ab12/", vec![]),
            (Method::GET, "/ab12/", vec![("host", "elsewhere.example:4000")]),
            (Method::GET, "/ab12/", vec![("host", "127.0.0.1:4001")]),
            (Method::GET, "/ab12/", vec![own, own]),
            (Method::POST, "/ab12/ask", vec![own]),
            (Method::POST, "/ab12/ask", vec![own, ("origin", "null")]),
            (Method::POST, "/ab12/ask", vec![own, ("origin", "http://localhost:4000")]),
            (Method::POST, "/ab12/ask", vec![own, ("origin", "https://127.0.0.1:4000")]),
            (Method::POST, "/ab12/ask", vec![own, origin, ("origin", "http://elsewhere.example")]),
            (Method::POST, "/ab12/ask", vec![own, origin, ("sec-fetch-site", "cross-site")]),
        ] {
            assert!(refused(method, path, &headers), "{path} {headers:?}");
        }
    }

    #[test]
    fn tokens_differ() {
        let [a, b] = [Token::new(), Token::new()].map(|token| token.expect("chance").0);
        assert!(a != b && a.len() == DIGITS);
    }
}
