// usage: muttool FIRST_ID DROPFILE LIST SRC_ROOT DST_ROOT FILE...   (drop: ids not to emit)
use proc_macro2::Span;
use quote::ToTokens;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::*;

struct M<'a> {
    text: &'a str,
    file: String,
    next: u32,
    drop: &'a BTreeSet<u32>,
    starts: BTreeMap<usize, Vec<(usize, String)>>,
    ends: BTreeMap<usize, Vec<(usize, String)>>,
    open: Vec<usize>,
    replace: BTreeMap<usize, (usize, String)>,
    list: String,
    in_const: bool,
}
fn r(s: Span) -> (usize, usize) { let b = s.byte_range(); (b.start, b.end) }

impl<'a> M<'a> {
    fn id(&mut self, at: Span, what: &str) -> Option<u32> {
        let n = self.next;
        self.next += 1;
        let dropped = self.drop.contains(&n);
        let what = what.replace(['\n', '\t'], " ");
        writeln!(self.list, "{n}\t{}\t{}\t{}\t{}", self.file, at.start().line, at.start().column + 1, what).unwrap();
        (!dropped).then_some(n)
    }
    fn start(&mut self, at: usize, s: String) { self.starts.entry(at).or_default().push((usize::MAX, s)); self.open.push(at); }
    // the last start that was written belongs to this end
    fn end(&mut self, at: usize, s: String) {
        let from = self.open.pop().unwrap();
        if let Some(v) = self.starts.get_mut(&from) && let Some(one) = v.last_mut() && one.0 == usize::MAX { one.0 = at; }
        self.ends.entry(at).or_default().push((from, s));
    }
    fn src(&self, s: Span) -> String { let (a, b) = r(s); self.text[a..b].split_whitespace().collect::<Vec<_>>().join(" ") }
    fn short(&self, s: Span) -> String { let t = self.src(s); t.chars().take(70).collect() }
    // two-operand by value or by reference
    fn two(&mut self, e: &ExprBinary, alts: &[(&str, bool)], refs: bool) {
        let op = self.src(e.op.span());
        let shown = self.short(e.span());
        let mut arms = String::new();
        let (l, rr) = if refs { ("*l_", "*r_") } else { ("l_", "r_") };
        let mut any = false;
        let mut ids = vec![];
        for (alt, _) in alts {
            if let Some(n) = self.id(e.op.span(), &format!("`{op}` -> `{alt}` in {shown}")) {
                write!(arms, "if crate::mutant_on(/*@{n}*/{n}) {{ /*<{n}*/ {l} {alt} {rr} /*{n}>*/ }} else ").unwrap();
                any = true;
                ids.push(n);
            }
        }
        if !any { return; }
        let amp = if refs { "&" } else { "" };
        let (a, b) = r(e.span());
        let (oa, ob) = r(e.op.span());
        let tag = ids.iter().map(|n| n.to_string()).collect::<Vec<_>>().join(",");
        self.start(a, format!("/*[{tag}*/(match ({amp}("));
        self.replace.insert(oa, (ob - oa, format!("), {amp}(")));
        self.end(b, format!(")) {{ (l_, r_) => {{ {arms} {{ {l} {op} {rr} }} }} }})/*{tag}]*/"));
    }
    fn value_true_false(&mut self, e: &Expr) {
        let shown = self.short(e.span());
        let t = self.id(e.span(), &format!("true for {shown}"));
        let f = self.id(e.span(), &format!("false for {shown}"));
        let (a, b) = r(e.span());
        let mut s = String::new();
        if let Some(n) = t { write!(s, "crate::mutant_on(/*@{n}*/{n}) || ").unwrap(); }
        let mut s2 = String::new();
        if let Some(n) = f { write!(s2, "!crate::mutant_on(/*@{n}*/{n}) && ").unwrap(); }
        if t.is_none() && f.is_none() { return; }
        let tag = [t, f].iter().flatten().map(|n| n.to_string()).collect::<Vec<_>>().join(",");
        self.start(a, format!("/*[{tag}*/({s}({s2}("));
        self.end(b, format!(")))/*{tag}]*/"));
    }
    fn atom(&mut self, e: &Expr) {
        match e {
            Expr::Paren(p) => self.atom(&p.expr),
            Expr::Binary(b) if matches!(b.op, BinOp::And(_) | BinOp::Or(_)) => { self.atom(&b.left); self.atom(&b.right); }
            Expr::Binary(_) | Expr::Let(_) | Expr::Lit(_) | Expr::Block(_) | Expr::If(_) | Expr::Match(_) => {}
            Expr::Unary(u) if matches!(u.op, UnOp::Not(_)) => {
                // the removal of `!` is a mutant of its own; the operand is told apart too
                self.atom(&u.expr)
            }
            _ => self.value_true_false(e),
        }
    }
    fn has_let(e: &Expr) -> bool {
        match e {
            Expr::Let(_) => true,
            Expr::Binary(b) => Self::has_let(&b.left) || Self::has_let(&b.right),
            _ => false,
        }
    }
    fn body(&mut self, sig: &Signature, block: &Block) {
        if block.stmts.is_empty() { return; }
        let values: Vec<String> = match &sig.output {
            ReturnType::Default => vec!["()".into()],
            ReturnType::Type(_, t) => values(t),
        };
        let (a, _) = r(block.brace_token.span.open());
        let name = sig.ident.to_string();
        let mut s = String::new();
        for v in values {
            if let Some(n) = self.id(sig.ident.span(), &format!("body of {name}: {v}")) {
                write!(s, " if crate::mutant_on(/*@{n}*/{n}) {{ /*<{n}*/ return {v}; /*{n}>*/ }}").unwrap();
            }
        }
        if !s.is_empty() {
            self.start(a + 1, s);
        }
    }
}
fn values(t: &Type) -> Vec<String> {
    match t {
        Type::Path(p) => {
            let last = p.path.segments.last().unwrap();
            let args: Vec<&Type> = match &last.arguments {
                PathArguments::AngleBracketed(a) => a.args.iter().filter_map(|a| if let GenericArgument::Type(t) = a { Some(t) } else { None }).collect(),
                _ => vec![],
            };
            match last.ident.to_string().as_str() {
                "bool" => vec!["true".into(), "false".into()],
                "usize" | "u64" | "u32" | "u8" | "u16" | "u128" => vec!["0".into(), "1".into()],
                "i64" | "i32" | "i128" | "isize" => vec!["0".into(), "1".into(), "-1".into()],
                "String" => vec!["String::new()".into()],
                "Vec" | "VecDeque" | "BTreeMap" | "BTreeSet" => vec!["Default::default()".into()],
                "Option" => {
                    let mut v = vec!["None".to_owned()];
                    if let Some(t) = args.first() { v.extend(values(t).into_iter().map(|x| format!("Some({x})"))); }
                    v
                }
                "Result" => args.first().map(|t| values(t).into_iter().map(|x| format!("Ok({x})")).collect()).unwrap_or_default(),
                "Turns" | "Teeth" | "CrankDegrees" => vec![format!("{}::ZERO", last.ident)],
                "Cow" => vec!["Default::default()".into()],
                _ => vec!["Default::default()".into()],
            }
        }
        Type::Reference(x) => match &*x.elem {
            Type::Path(p) if p.path.is_ident("str") => vec!["\"\"".into()],
            Type::Slice(_) if x.mutability.is_none() => vec!["&[]".into()],
            _ => vec![],
        },
        Type::Tuple(t) if t.elems.is_empty() => vec!["()".into()],
        Type::Tuple(_) => vec!["Default::default()".into()],
        _ => vec![],
    }
}
fn is_test(attrs: &[Attribute]) -> bool {
    attrs.iter().any(|a| a.to_token_stream().to_string().contains("test"))
}
const PREDS: &[&str] = &["any", "all", "filter", "find", "position", "take_while", "skip_while", "retain", "partition", "is_some_and", "is_none_or", "is_ok_and", "then", "then_some", "rposition", "map_while"];

impl<'ast> Visit<'ast> for M<'_> {
    fn visit_item_mod(&mut self, m: &'ast ItemMod) { if !is_test(&m.attrs) { visit::visit_item_mod(self, m) } }
    fn visit_item_const(&mut self, _: &'ast ItemConst) {}
    fn visit_item_static(&mut self, _: &'ast ItemStatic) {}
    fn visit_impl_item_const(&mut self, _: &'ast ImplItemConst) {}
    fn visit_attribute(&mut self, _: &'ast Attribute) {}
    fn visit_type(&mut self, _: &'ast Type) {}
    fn visit_pat(&mut self, _: &'ast Pat) {}
    fn visit_item_fn(&mut self, f: &'ast ItemFn) {
        if f.sig.constness.is_some() || is_test(&f.attrs) { return; }
        self.body(&f.sig, &f.block);
        visit::visit_block(self, &f.block);
    }
    fn visit_impl_item_fn(&mut self, f: &'ast ImplItemFn) {
        if f.sig.constness.is_some() || is_test(&f.attrs) { return; }
        self.body(&f.sig, &f.block);
        visit::visit_block(self, &f.block);
    }
    fn visit_expr_if(&mut self, e: &'ast ExprIf) {
        if Self::has_let(&e.cond) { self.chain_atoms(&e.cond) } else { self.atom(&e.cond) }
        visit::visit_expr_if(self, e);
    }
    fn visit_expr_match(&mut self, m: &'ast ExprMatch) {
        let catch = m.arms.last().is_some_and(|a| a.guard.is_none() && match &a.pat { Pat::Wild(_) => true, Pat::Ident(i) => i.subpat.is_none() && i.ident.to_string().starts_with(|c: char| c.is_lowercase()), _ => false });
        let n = m.arms.len();
        for (i, arm) in m.arms.iter().enumerate() {
            if let Some((_, g)) = &arm.guard {
                if Self::has_let(g) { self.chain_atoms(g) } else { self.whole_guard(g) }
            }
            if catch && i + 1 < n {
                let shown = self.short(arm.pat.span());
                if let Some(id) = self.id(arm.pat.span(), &format!("arm gone: {shown}")) {
                    match &arm.guard {
                        None => {
                            let (_, b) = r(arm.pat.span());
                            self.start(b, format!(" if !crate::mutant_on(/*@{id}*/{id})/*[{id}*//*{id}]*/"));
                        }
                        Some((_, g)) if !Self::has_let(g) => {
                            let (a, b) = r(g.span());
                            self.start(a, format!("/*[{id}*/!crate::mutant_on(/*@{id}*/{id}) && ("));
                            self.end(b, format!(")/*{id}]*/"));
                        }
                        Some((_, g)) => {
                            let (a, _) = r(g.span());
                            self.start(a, format!("/*[{id}*/!crate::mutant_on(/*@{id}*/{id})/*{id}]*/ && "));
                        }
                    }
                }
            }
        }
        visit::visit_expr_match(self, m);
    }
    fn visit_expr_method_call(&mut self, c: &'ast ExprMethodCall) {
        let name = c.method.to_string();
        if matches!(name.as_str(), "then" | "then_some") { self.atom(&c.receiver); }
        if PREDS.contains(&name.as_str()) {
            for a in &c.args {
                if let Expr::Closure(cl) = a {
                    if !matches!(&*cl.body, Expr::Block(_)) && !matches!(name.as_str(), "then" | "map_while") { self.atom(&cl.body); }
                }
            }
        }
        visit::visit_expr_method_call(self, c);
    }
    fn visit_expr_binary(&mut self, e: &'ast ExprBinary) {
        match e.op {
            BinOp::Lt(_) => self.two(e, &[("<=", true), (">=", true)], true),
            BinOp::Le(_) => self.two(e, &[("<", true), (">", true)], true),
            BinOp::Gt(_) => self.two(e, &[(">=", true), ("<=", true)], true),
            BinOp::Ge(_) => self.two(e, &[(">", true), ("<", true)], true),
            BinOp::Eq(_) => self.two(e, &[("!=", true)], true),
            BinOp::Ne(_) => self.two(e, &[("==", true)], true),
            BinOp::Add(_) => self.two(e, &[("-", true)], false),
            BinOp::Sub(_) => self.two(e, &[("+", true)], false),
            BinOp::Mul(_) => self.two(e, &[("/", true), ("+", true)], false),
            BinOp::Div(_) => self.two(e, &[("*", true)], false),
            BinOp::Rem(_) => self.two(e, &[("/", true), ("+", true)], false),
            BinOp::BitAnd(_) => self.two(e, &[("|", true)], false),
            BinOp::BitOr(_) => self.two(e, &[("&", true)], false),
            BinOp::BitXor(_) => self.two(e, &[("|", true), ("&", true)], false),
            BinOp::Shl(_) => self.two(e, &[(">>", true)], false),
            BinOp::Shr(_) => self.two(e, &[("<<", true)], false),
            BinOp::And(_) | BinOp::Or(_) if !(Self::has_let(&e.left) || Self::has_let(&e.right)) => {
                let op = self.src(e.op.span());
                let other = if op == "&&" { "||" } else { "&&" };
                let shown = self.short(e.span());
                if let Some(n) = self.id(e.op.span(), &format!("`{op}` -> `{other}` in {shown}")) {
                    let (a, b) = r(e.span());
                    let (oa, ob) = r(e.op.span());
                    let on = format!("crate::mutant_on(/*@{n}*/{n})");
                    self.start(a, format!("/*[{n}*/((({on} ^ ("));
                    self.replace.insert(oa, (ob - oa, format!(")) {op} ({on} ^ (")));
                    self.end(b, format!("))) ^ {on})/*{n}]*/"));
                }
            }
            BinOp::AddAssign(_) | BinOp::SubAssign(_) | BinOp::MulAssign(_) | BinOp::BitAndAssign(_) | BinOp::BitOrAssign(_) | BinOp::BitXorAssign(_) => {
                let op = self.src(e.op.span());
                let other = match op.as_str() { "+=" => "-=", "-=" => "+=", "*=" => "+=", "&=" => "|=", "|=" => "&=", _ => "|=" };
                let shown = self.short(e.span());
                if let Some(n) = self.id(e.op.span(), &format!("`{op}` -> `{other}` in {shown}")) {
                    let l = self.src(e.left.span());
                    let (a, b) = r(e.span());
                    let (ra, _) = r(e.right.span());
                    // the left side stands as it is in both; what is mutated inside of it is not
                    self.replace.insert(a, (ra - a, format!("/*[{n}*/(match ("))); self.open.push(a);
                    self.end(b, format!(") {{ r_ => if crate::mutant_on(/*@{n}*/{n}) {{ /*<{n}*/ {l} {other} r_ /*{n}>*/ }} else {{ {l} {op} r_ }} }})/*{n}]*/"));
                }
                self.visit_expr(&e.right);
                return;
            }
            _ => {}
        }
        visit::visit_expr_binary(self, e);
    }
    fn visit_expr_unary(&mut self, e: &'ast ExprUnary) {
        let (a, b) = r(e.span());
        match e.op {
            UnOp::Not(_) => {
                let shown = self.short(e.span());
                if let Some(n) = self.id(e.span(), &format!("`!` gone in {shown}")) {
                    self.start(a, format!("/*[{n}*/(crate::mutant_on(/*@{n}*/{n}) ^ ("));
                    self.end(b, format!("))/*{n}]*/"));
                }
            }
            UnOp::Neg(_) if !matches!(*e.expr, Expr::Lit(_)) => {
                let shown = self.short(e.span());
                if let Some(n) = self.id(e.span(), &format!("`-` gone in {shown}")) {
                    self.replace.insert(a, (1, format!("/*[{n}*/(match ("))); self.open.push(a);
                    self.end(b, format!(") {{ l_ => if crate::mutant_on(/*@{n}*/{n}) {{ /*<{n}*/ l_ /*{n}>*/ }} else {{ -l_ }} }})/*{n}]*/"));
                }
            }
            _ => {}
        }
        visit::visit_expr_unary(self, e);
    }
    fn visit_macro(&mut self, _: &'ast Macro) {}
}
impl M<'_> {
    fn chain_atoms(&mut self, e: &Expr) {
        match e {
            Expr::Binary(b) if matches!(b.op, BinOp::And(_)) => { self.chain_atoms(&b.left); self.chain_atoms(&b.right); }
            Expr::Let(_) => {}
            // in a chain `a && let ..` the whole of `a` can go: with it, and without
            Expr::Binary(_) => self.value_true_false(e),
            _ => self.atom(e),
        }
    }
    fn whole_guard(&mut self, e: &Expr) {
        match e { Expr::Binary(_) => self.value_true_false(e), _ => self.atom(e) }
    }
}

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let mut next: u32 = args[1].parse().unwrap();
    let drop: BTreeSet<u32> = std::fs::read_to_string(&args[2]).unwrap_or_default().split_whitespace().map(|x| x.parse().unwrap()).collect();
    let mut list = String::new();
    for f in &args[6..] {
        let text = std::fs::read_to_string(format!("{}/{f}", args[4])).unwrap();
        let ast = syn::parse_file(&text).unwrap();
        let mut m = M { text: &text, file: f.clone(), next, drop: &drop, starts: BTreeMap::new(), ends: BTreeMap::new(), replace: BTreeMap::new(), open: vec![], list: String::new(), in_const: false };
        m.visit_file(&ast);
        let _ = m.in_const;
        let mut out = String::new();
        let mut i = 0;
        while i <= text.len() {
            if let Some(v) = m.ends.get(&i) { let mut v: Vec<_> = v.iter().enumerate().collect(); v.sort_by_key(|(n, (from, _))| (std::cmp::Reverse(*from), std::cmp::Reverse(*n))); for (_, (_, s)) in v { out.push_str(s) } }
            if let Some(v) = m.starts.get(&i) { let mut v: Vec<_> = v.iter().enumerate().collect(); v.sort_by_key(|(n, (to, _))| (std::cmp::Reverse(*to), *n)); for (_, (_, s)) in v { out.push_str(s) } }
            if let Some((n, s)) = m.replace.get(&i) {
                out.push_str(s);
                i += n;
                continue;
            }
            if i == text.len() { break; }
            let c = text[i..].chars().next().unwrap();
            out.push(c);
            i += c.len_utf8();
        }
        std::fs::write(format!("{}/{f}", args[5]), out).unwrap();
        next = m.next;
        list.push_str(&m.list);
    }
    std::fs::write(&args[3], list).unwrap();
    eprintln!("next {next}");
}
