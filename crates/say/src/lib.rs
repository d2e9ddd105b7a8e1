//! The macro `say!`: a sentence with numbers in it, sent through the catalogue of words.
//!
//! It is written as `format!` is and gives a `String` as `format!` does; but
//! the sentence is looked up first in the language chosen (`record::words`),
//! with its places named, so that a translation may put them in another
//! order.  Proc macros are built for the machine that compiles and are not
//! part of the page.

mod pattern;

use pattern::{Piece, pieces};
use proc_macro::{Delimiter, Group, Ident, Literal, Punct, Spacing, Span, TokenStream, TokenTree};
use std::str::FromStr;

/// `say!("Marked {n} of {} samples.", total)`: what `format!` would give, in the language chosen.
///
/// The first argument is a literal; every place in it is filled in the order
/// in which it stands there, and the key of the catalogue is the literal with
/// its places named (`{n}`) or counted (`{0}`), without their formats.
#[proc_macro]
pub fn say(input: TokenStream) -> TokenStream {
    match expand(input) {
        Ok(stream) => stream,
        Err(why) => {
            TokenStream::from_str(&format!("::core::compile_error!({why:?})")).unwrap_or_default()
        }
    }
}

fn expand(input: TokenStream) -> Result<TokenStream, String> {
    let mut tokens = input.into_iter();
    let first = tokens.next().ok_or("say! needs a sentence")?;
    let literal = literal(first)?;
    let arguments = arguments(&tokens.collect::<Vec<_>>());
    let text = unescaped(&literal.to_string()).ok_or("say! takes a plain string literal")?;
    let found = pieces(&text)?;
    let mut key = String::new();
    let mut array = TokenStream::new();
    let mut counted = 0;
    let mut used = vec![false; arguments.len()];
    for piece in &found {
        let (name, spec) = match piece {
            Piece::Text(text) => {
                key.push_str(text);
                continue;
            }
            Piece::Place { name, spec } => (name, spec),
        };
        let (shown, value) = if name.is_empty() {
            counted += 1;
            let (_, value) = arguments.get(counted - 1).ok_or("fewer values than places")?;
            used[counted - 1] = true;
            ((counted - 1).to_string(), value.clone())
        } else if let Some(at) = arguments.iter().position(|(n, _)| n.as_ref() == Some(name)) {
            used[at] = true;
            (name.clone(), arguments[at].1.clone())
        } else {
            let ident = TokenTree::from(Ident::new(name, literal.span()));
            (name.clone(), TokenStream::from(ident))
        };
        key.push_str(&format!("{{{shown}}}"));
        array.extend(shown_value(value, spec, literal.span()));
        array.extend([TokenTree::from(Punct::new(',', Spacing::Alone))]);
    }
    if used.contains(&false) {
        return Err("say! was given a value that stands nowhere in its sentence".to_owned());
    }
    Ok(call(&key, array, literal.span()))
}

// `::record::words::fill(key, &[…])`
fn call(key: &str, array: TokenStream, span: Span) -> TokenStream {
    let mut key = Literal::string(key);
    key.set_span(span);
    let mut inner = TokenStream::from(TokenTree::from(key));
    inner.extend(TokenStream::from_str(", &").unwrap_or_default());
    inner.extend([TokenTree::from(Group::new(Delimiter::Bracket, array))]);
    let mut out = TokenStream::from_str("::record::words::fill").unwrap_or_default();
    out.extend([TokenTree::from(Group::new(Delimiter::Parenthesis, inner))]);
    out
}

// `&(value)`, or `&format_args!("{:spec}", value)`
fn shown_value(value: TokenStream, spec: &str, span: Span) -> TokenStream {
    let mut out = TokenStream::from_str("&").unwrap_or_default();
    if spec.is_empty() {
        out.extend([TokenTree::from(Group::new(Delimiter::Parenthesis, value))]);
        return out;
    }
    let mut pattern = Literal::string(&format!("{{:{spec}}}"));
    pattern.set_span(span);
    let mut inner = TokenStream::from(TokenTree::from(pattern));
    inner.extend([TokenTree::from(Punct::new(',', Spacing::Alone))]);
    inner.extend(value);
    out.extend(TokenStream::from_str("::core::format_args!").unwrap_or_default());
    out.extend([TokenTree::from(Group::new(Delimiter::Parenthesis, inner))]);
    out
}

// A literal, perhaps within the invisible brackets of another macro.
fn literal(token: TokenTree) -> Result<Literal, String> {
    match token {
        TokenTree::Literal(literal) => Ok(literal),
        TokenTree::Group(group) if group.delimiter() == Delimiter::None => {
            literal(group.stream().into_iter().next().ok_or("say! needs a sentence")?)
        }
        _ => Err("say! begins with its sentence, as a literal".to_owned()),
    }
}

// What stands after the literal: values, some of them named, between commas.
fn arguments(tokens: &[TokenTree]) -> Vec<(Option<String>, TokenStream)> {
    let is_comma = |t: &TokenTree| matches!(t, TokenTree::Punct(p) if p.as_char() == ',');
    let parts = tokens.split(is_comma).filter(|part| !part.is_empty());
    parts
        .map(|part| match part {
            [TokenTree::Ident(name), TokenTree::Punct(equals), value @ ..]
                if equals.as_char() == '=' && equals.spacing() == Spacing::Alone =>
            {
                (Some(name.to_string()), value.iter().cloned().collect())
            }
            value => (None, value.iter().cloned().collect()),
        })
        .collect()
}

// The text of a plain string literal as it stands in the source.
fn unescaped(source: &str) -> Option<String> {
    let inner = source.strip_prefix('"')?.strip_suffix('"')?;
    let mut out = String::new();
    let mut letters = inner.chars().peekable();
    while let Some(letter) = letters.next() {
        if letter != '\\' {
            out.push(letter);
            continue;
        }
        match letters.next()? {
            'n' => out.push('\n'),
            't' => out.push('\t'),
            '\n' => while letters.next_if(|c| c.is_whitespace()).is_some() {},
            'u' => {
                let code: String = letters.by_ref().skip(1).take_while(|c| *c != '}').collect();
                out.push(char::from_u32(u32::from_str_radix(&code, 16).ok()?)?);
            }
            other @ ('"' | '\\' | '\'') => out.push(other),
            _ => return None,
        }
    }
    Some(out)
}
