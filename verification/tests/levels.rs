//! No module needs one that needs it: what `ARCHITECTURE.md` says of levels, kept on the graph of every module.
//!
//! The sources are parsed, and every path in them that begins at the crate, at the module itself, above it or at one of
//! its children is followed to the module that it names. Declaring a child is no dependency; re-exporting from one is.

use coilwright_verification::root;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use syn::visit::{self, Visit};

/// Crates that compute.
const CRATES: [&str; 4] = ["fem", "magnet", "bench", "choose"];

/// Modules by path (`a::b`, the crate's root is empty), each with the modules that it names.
type Graph = BTreeMap<String, BTreeSet<String>>;

/// Paths named in one module's source.
struct Named<'a> {
    module: &'a str,
    modules: &'a BTreeSet<String>,
    found: BTreeSet<String>,
}

fn joined(parts: &[String]) -> String {
    parts.join("::")
}

impl Named<'_> {
    /// The module that a path leads into; paths to other crates and to things in scope lead nowhere.
    fn note(&mut self, path: &[String]) {
        let own: Vec<String> = self.module.split("::").filter(|s| !s.is_empty()).map(String::from).collect();
        let Some(first) = path.first() else { return };
        let mut whole = match first.as_str() {
            "crate" => path[1..].to_vec(),
            "self" => [&own[..], &path[1..]].concat(),
            "super" => {
                let up = path.iter().take_while(|p| *p == "super").count();
                [&own[..own.len().saturating_sub(up)], &path[up..]].concat()
            }
            _ => {
                let child = joined(&[&own[..], &path[..1]].concat());
                if !self.modules.contains(&child) {
                    return;
                }
                [&own[..], path].concat()
            }
        };
        while !whole.is_empty() && !self.modules.contains(&joined(&whole)) {
            whole.pop();
        }
        let target = joined(&whole);
        if !target.is_empty() && target != self.module {
            self.found.insert(target);
        }
    }

    fn tree(&mut self, before: &[String], tree: &syn::UseTree) {
        match tree {
            syn::UseTree::Path(p) => self.tree(&[before, &[p.ident.to_string()]].concat(), &p.tree),
            syn::UseTree::Name(n) if n.ident == "self" => self.note(before),
            syn::UseTree::Name(n) => self.note(&[before, &[n.ident.to_string()]].concat()),
            syn::UseTree::Rename(n) if n.ident == "self" => self.note(before),
            syn::UseTree::Rename(n) => self.note(&[before, &[n.ident.to_string()]].concat()),
            syn::UseTree::Glob(_) => self.note(before),
            syn::UseTree::Group(g) => g.items.iter().for_each(|t| self.tree(before, t)),
        }
    }
}

fn is_test(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|a| {
        a.path().is_ident("cfg")
            && a.parse_args::<syn::Path>().is_ok_and(|argument| argument.is_ident("test"))
    })
}

impl<'ast> Visit<'ast> for Named<'_> {
    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        self.tree(&[], &item.tree);
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let parts: Vec<String> = path.segments.iter().map(|s| s.ident.to_string()).collect();
        if parts.len() > 1 {
            self.note(&parts);
        }
        visit::visit_path(self, path);
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        if !is_test(&item.attrs) {
            visit::visit_item_mod(self, item);
        }
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        // The arguments of a macro are not parsed: paths from the crate's root are found in their text.
        let text = call.tokens.to_string().replace(' ', "");
        for (at, _) in text.match_indices("crate::") {
            let path = text[at..].split(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':')).next();
            let parts: Vec<String> = path.unwrap_or("").split("::").map(String::from).collect();
            self.note(&parts);
        }
    }
}

fn files(folder: &Path, module: &str, found: &mut BTreeMap<String, String>) {
    for entry in std::fs::read_dir(folder).expect("the folder can be read") {
        let path = entry.expect("the entry can be read").path();
        let stem = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let inside = if module.is_empty() { stem.clone() } else { format!("{module}::{stem}") };
        if path.is_dir() {
            files(&path, &inside, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            let name = if stem == "mod" || stem == "lib" { module.to_owned() } else { inside };
            found.insert(name, std::fs::read_to_string(&path).expect("the source can be read"));
        }
    }
}

fn graph(sources: &BTreeMap<String, String>) -> Graph {
    let modules: BTreeSet<String> = sources.keys().cloned().collect();
    sources
        .iter()
        .map(|(module, text)| {
            let mut named = Named { module, modules: &modules, found: BTreeSet::new() };
            named.visit_file(&syn::parse_file(text).expect("the source parses"));
            (module.clone(), named.found)
        })
        .collect()
}

fn graph_of(name: &str) -> Graph {
    let mut sources = BTreeMap::new();
    files(&root().join("../crates").join(name).join("src"), "", &mut sources);
    assert!(sources.len() > 3, "no sources in {name}");
    graph(&sources)
}

/// Everything that a module needs, through others too.
fn needs(graph: &Graph, module: &str) -> BTreeSet<String> {
    let mut seen = BTreeSet::new();
    let mut open: Vec<&String> = graph[module].iter().collect();
    while let Some(next) = open.pop() {
        if seen.insert(next.clone()) {
            open.extend(&graph[next]);
        }
    }
    seen
}

/// The graph of what stands at a depth of folders.
fn folded(graph: &Graph, depth: usize) -> Graph {
    let cut = |module: &str| module.split("::").take(depth).collect::<Vec<_>>().join("::");
    let mut out = Graph::new();
    for (module, named) in graph {
        let own = cut(module);
        let others = named.iter().map(|m| cut(m)).filter(|m| *m != own).collect::<Vec<_>>();
        out.entry(own).or_default().extend(others);
    }
    out
}

/// The same, where a folder's own file is taken as what its files stand on: that it names them is no need.
fn without_facades(graph: &Graph) -> Graph {
    let inside = |module: &str, other: &str| {
        !module.is_empty() && other.strip_prefix(module).is_some_and(|rest| rest.starts_with("::"))
    };
    let kept = |module: &str, named: &BTreeSet<String>| {
        named.iter().filter(|o| !inside(module, o)).cloned().collect()
    };
    graph.iter().map(|(module, named)| (module.clone(), kept(module, named))).collect()
}

fn in_circles(graph: &Graph) -> Vec<String> {
    graph.keys().filter(|m| needs(graph, m).contains(*m)).cloned().collect()
}

/// The levels of `magnet`, lowest first, as `ARCHITECTURE.md` lists them.
fn levels() -> Vec<String> {
    let text = std::fs::read_to_string(root().join("../ARCHITECTURE.md")).expect("ARCHITECTURE.md is there");
    let (_, list) = text.split_once("## The levels of `magnet`").expect("the document lists the levels");
    let list = list.split("\n## ").next().unwrap_or("");
    list.lines()
        .filter_map(|line| line.split_once(". **`").filter(|(n, _)| n.parse::<u8>().is_ok()))
        .filter_map(|(_, rest)| rest.split_once("`**"))
        .map(|(name, _)| name.to_owned())
        .collect()
}

#[test]
fn no_module_needs_one_that_needs_it() {
    for name in CRATES {
        // In `magnet` not even a folder's own file and its files need each other.
        let graph = if name == "magnet" { graph_of(name) } else { without_facades(&graph_of(name)) };
        for depth in 1..5 {
            let circle = in_circles(&folded(&graph, depth));
            assert!(circle.is_empty(), "{name}, to a depth of {depth}: a circle among {circle:?}");
        }
    }
}

#[test]
fn a_level_of_the_magnet_uses_only_those_above_it_in_the_list() {
    let levels = levels();
    let graph = folded(&graph_of("magnet"), 1);
    let there: BTreeSet<&str> = graph.keys().map(String::as_str).filter(|m| !m.is_empty()).collect();
    assert_eq!(levels.iter().map(String::as_str).collect::<BTreeSet<_>>(), there, "left: ARCHITECTURE.md");
    let place = |name: &str| levels.iter().position(|l| l == name).expect("listed");
    for level in &levels {
        for other in needs(&graph, level) {
            assert!(place(&other) < place(level), "{level} needs {other}, which stands below it in the list");
        }
    }
}

/// They meet in one folder, and nowhere before it.
#[test]
fn field_heat_and_circuit_do_not_know_each_other() {
    let graph = folded(&graph_of("magnet"), 1);
    let physics = ["magnetic", "thermal", "circuit"];
    for own in physics {
        let needed = needs(&graph, own);
        for other in physics.iter().filter(|o| **o != own) {
            assert!(!needed.contains(*other), "{own} knows {other}");
        }
    }
    let joined: Vec<&String> =
        graph.keys().filter(|m| physics.iter().all(|p| graph[*m].contains(*p))).collect();
    assert!(joined.iter().any(|m| *m == "coupled"), "nothing joins them: {joined:?}");
}

#[test]
fn the_graph_sees_every_way_to_name_a_module() {
    let sources = [
        ("", "pub mod a; pub mod b;"),
        ("a", "pub mod x; pub use x::Thing;"),
        ("a::x", "pub struct Thing; fn f() { super::y::g() }"),
        ("a::y", "use crate::{b::{self, z}, a::Thing}; pub fn g() { println!(\"{}\", crate::c::n()) }"),
        ("b", "#[cfg(test)] mod tests { use crate::a::Thing; }"),
        ("b::z", "type T = super::Own; impl T { fn h() { self::i() } }"),
        ("c", "pub fn n() -> u8 { 1 }"),
    ];
    let sources = sources.map(|(m, t)| (m.to_owned(), t.to_owned())).into();
    let graph = graph(&sources);
    let of = |m: &str| graph[m].iter().map(String::as_str).collect::<Vec<_>>();
    assert_eq!(of("a"), ["a::x"]);
    assert_eq!(of("a::x"), ["a::y"]);
    assert_eq!(of("a::y"), ["a", "b", "b::z", "c"]);
    assert_eq!(of("b"), Vec::<&str>::new());
    assert_eq!(of("b::z"), ["b"]);
    assert_eq!(in_circles(&graph), ["a", "a::x", "a::y"]);
    assert_eq!(in_circles(&folded(&graph, 1)), Vec::<String>::new());
}
