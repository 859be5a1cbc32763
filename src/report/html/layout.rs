//! What the page of a review and that of a comparison are laid out with: the templates,
//! the formatter that every text passes, the outermost frame.
//!
//! It words nothing but the parts that both pages have alike.

use super::HtmlError;
use crate::report::format::clean;
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, UndefinedBehavior, Value, escape_formatter};
use serde::Serialize;

/// A template: its name and its text.
pub(in crate::report) type Template = (&'static str, &'static str);

/// The templates of both pages.
const SHARED: [Template; 4] = [
    ("frame.html", include_str!("../templates/frame.html")),
    ("findings.html", include_str!("../templates/findings.html")),
    ("issues.html", include_str!("../templates/issues.html")),
    ("signing.html", include_str!("../templates/signing.html")),
];

/// The templates of a page, with the formatter that every text passes.
pub(in crate::report) struct Templates(Environment<'static>);

impl Templates {
    /// The templates of both pages and those of `own`.
    pub(in crate::report) fn new(own: &[Template]) -> Result<Templates, HtmlError> {
        let mut environment = Environment::new();
        let syntax = SyntaxConfig::builder()
            .trim_blocks(true)
            .lstrip_blocks(true)
            .build()?;
        environment.set_syntax(syntax);
        environment.set_undefined_behavior(UndefinedBehavior::Strict);
        environment.set_auto_escape_callback(|_| AutoEscape::Html);
        environment.set_formatter(|out, state, value| match value.as_str() {
            Some(text) if !value.is_safe() => {
                escape_formatter(out, state, &Value::from(clean(text)))
            }
            _ => escape_formatter(out, state, value),
        });
        for (name, source) in SHARED.iter().chain(own) {
            environment.add_template(name, source)?;
        }
        Ok(Templates(environment))
    }

    /// The template with what it places, without a line feed at its end.
    pub(in crate::report) fn draw<T: Serialize>(
        &self,
        template: &str,
        view: &T,
    ) -> Result<String, HtmlError> {
        let template = self.0.get_template(template)?;
        Ok(template.render(Value::from(Serde(view)))?)
    }

    /// The whole page: the sections in their order, then cautions and signatures.
    pub(in crate::report) fn page(
        &self,
        title: String,
        style: &str,
        mut sections: String,
        cautions: &[String],
    ) -> Result<String, HtmlError> {
        #[derive(Serialize)]
        struct Signing<'a> {
            cautions: &'a [String],
        }
        #[derive(Serialize)]
        struct Frame<'a> {
            title: String,
            style: &'a str,
            sections: String,
        }
        sections.push('\n');
        sections.push_str(&self.draw("signing.html", &Signing { cautions })?);
        let frame = Frame {
            title,
            style,
            sections,
        };
        self.draw("frame.html", &frame)
    }
}
