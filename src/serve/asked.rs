//! What is asked, read from a request; and what is given back.

use percent_encoding::percent_decode_str;

use crate::report::page::live::FormFields;

/// Fields that a form may have: the longest of ours, a build of several cylinders, has some hundred.
const MOST_FIELDS: usize = 600;

/// A request as the pages see it.
#[derive(Debug, Clone)]
pub(super) struct Ask {
    /// The address between its slashes, as words.
    pub(super) path: Vec<String>,
    /// What stands behind the question mark; of a form that writes, what was typed into it.
    pub(super) typed: FormFields,
}

/// The words of an address; none where one of them could lead anywhere else.
pub(super) fn words(path: &str) -> Option<Vec<String>> {
    let inner = path.strip_prefix('/')?;
    if inner.is_empty() {
        return Some(Vec::new());
    }
    inner.split('/').map(word).collect()
}

fn word(raw: &str) -> Option<String> {
    let word = percent_decode_str(raw).decode_utf8().ok()?.into_owned();
    let is_odd = word.is_empty()
        || word.starts_with('.')
        || word.contains(['/', '\\'])
        || word.chars().any(char::is_control);
    (!is_odd).then_some(word)
}

/// The fields of a form, or of what stands behind a question mark; none where there are too many.
pub(super) fn fields(text: &[u8]) -> Option<FormFields> {
    let fields: Vec<(String, String)> = form_urlencoded::parse(text)
        .take(MOST_FIELDS + 1)
        // A browser sends line breaks as two signs.
        .map(|(name, value)| (name.into_owned(), value.replace("\r\n", "\n")))
        .collect();
    (fields.len() <= MOST_FIELDS).then(|| FormFields::of(fields))
}

/// What is given back.
#[derive(Debug, Clone, Default)]
pub(super) struct Reply {
    /// The status, 200 and so on.
    pub(super) status: u16,
    /// The page.
    pub(super) body: String,
    /// Whether that is a style, no page.
    pub(super) is_style: bool,
    /// Where to go on.
    pub(super) to: Option<String>,
    /// How long to wait, s.
    pub(super) wait_s: Option<u64>,
    /// Whether whoever asked is in from now on.
    pub(super) lets_in: bool,
    /// Whether the address that was asked for held the key: no page may tell it on.
    pub(super) by_address: bool,
}

impl Reply {
    /// A page.
    pub(super) fn page(body: String) -> Self {
        Self { status: 200, body, ..Self::default() }
    }

    /// The way to another page.
    pub(super) fn go(to: String) -> Self {
        Self { status: 303, to: Some(to), ..Self::default() }
    }

    /// Words for whoever is no browser of ours.
    pub(super) fn refused(status: u16, words: &str) -> Self {
        let body = maud::html! { (maud::DOCTYPE) html lang="en" { title { "Refused" } p { (words) } } };
        Self { status, body: body.into_string(), ..Self::default() }
    }
}

#[cfg(test)]
mod tests {
    use super::{fields, words};

    #[test]
    fn an_address_leads_nowhere_else() {
        let of = |path| words(path).map(|words| words.join("|"));
        assert_eq!(of("/"), Some(String::new()));
        assert_eq!(of("/bike/moth/log").as_deref(), Some("bike|moth|log"));
        assert_eq!(of("/bike/m%C3%B6th").as_deref(), Some("bike|möth"));
        for odd in [
            "",
            "bike",
            "//",
            "/bike//log",
            "/bike/..",
            "/bike/%2e%2e/log",
            "/bike/.git",
            "/bike/a%2Fb",
            "/bike/a%5Cb",
            "/bike/a%00b",
            "/bike/%ff",
            "/bike/a%0Ab",
        ] {
            assert_eq!(of(odd), None, "{odd}");
        }
    }

    #[test]
    fn a_form_is_read_and_a_flood_of_fields_is_not() {
        let typed = fields(b"place=Teal+Pass&notes=a%0D%0Ab&without=1+x&without=2").unwrap();
        assert_eq!(typed.get("place"), "Teal Pass");
        assert_eq!(typed.get("notes"), "a\nb");
        assert_eq!(typed.all("without").collect::<Vec<_>>(), ["1 x", "2"]);
        assert!(fields("a=1&".repeat(601).as_bytes()).is_none());
        assert!(fields("a=1&".repeat(600).as_bytes()).is_some());
    }
}
