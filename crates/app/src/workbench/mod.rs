//! The workbench: the page of a report, alive. It is served to a browser on this machine and to nobody else.
//!
//! What comes in is the text of a sheet with what-ifs ([`asked`]); what goes out are parts of the page ([`part`]), the quick
//! ones first ([`quick`]), then those that are settled ([`settle`]), by the functions that write a report, the field at a
//! place of its picture ([`value`]), and what a search finds ([`seek`]). [`keep`] has the
//! file, [`journal`] what is not saved of it, [`others`] the sheets beside it, [`guard`] decides who is let in,
//! [`requests`] has what may be asked, [`server`] joins them.

mod asked;
mod edit;
mod export;
mod forms;
mod guard;
mod journal;
mod keep;
mod keys;
mod others;
mod part;
mod quick;
mod readings;
mod requests;
mod seek;
mod server;
mod settle;
mod shell;
mod sliders;
mod value;

pub(crate) use keep::Keep;
pub(crate) use others::Others;
pub(crate) use server::Bench;
