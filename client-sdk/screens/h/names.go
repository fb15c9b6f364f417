package h

import g "maragu.dev/gomponents"

// The elements.

func A(c ...g.Node) g.Node        { return El("a", c) }
func Article(c ...g.Node) g.Node  { return El("article", c) }
func Button(c ...g.Node) g.Node   { return El("button", c) }
func Caption(c ...g.Node) g.Node  { return El("caption", c) }
func Dd(c ...g.Node) g.Node       { return El("dd", c) }
func Del(c ...g.Node) g.Node      { return El("del", c) }
func Details(c ...g.Node) g.Node  { return El("details", c) }
func Div(c ...g.Node) g.Node      { return El("div", c) }
func Dl(c ...g.Node) g.Node       { return El("dl", c) }
func Dt(c ...g.Node) g.Node       { return El("dt", c) }
func FieldSet(c ...g.Node) g.Node { return El("fieldset", c) }
func Figure(c ...g.Node) g.Node   { return El("figure", c) }
func Form(c ...g.Node) g.Node     { return El("form", c) }
func H1(c ...g.Node) g.Node       { return El("h1", c) }
func H2(c ...g.Node) g.Node       { return El("h2", c) }
func H3(c ...g.Node) g.Node       { return El("h3", c) }
func Header(c ...g.Node) g.Node   { return El("header", c) }
func Img(c ...g.Node) g.Node      { return El("img", c) }
func Input(c ...g.Node) g.Node    { return El("input", c) }
func Label(c ...g.Node) g.Node    { return El("label", c) }
func Legend(c ...g.Node) g.Node   { return El("legend", c) }
func Li(c ...g.Node) g.Node       { return El("li", c) }
func Nav(c ...g.Node) g.Node      { return El("nav", c) }
func Ol(c ...g.Node) g.Node       { return El("ol", c) }
func Option(c ...g.Node) g.Node   { return El("option", c) }
func P(c ...g.Node) g.Node        { return El("p", c) }
func Progress(c ...g.Node) g.Node { return El("progress", c) }
func Search(c ...g.Node) g.Node   { return El("search", c) }
func Section(c ...g.Node) g.Node  { return El("section", c) }
func Select(c ...g.Node) g.Node   { return El("select", c) }
func Span(c ...g.Node) g.Node     { return El("span", c) }
func Strong(c ...g.Node) g.Node   { return El("strong", c) }
func Summary(c ...g.Node) g.Node  { return El("summary", c) }
func Table(c ...g.Node) g.Node    { return El("table", c) }
func Tbody(c ...g.Node) g.Node    { return El("tbody", c) }
func Td(c ...g.Node) g.Node       { return El("td", c) }
func Textarea(c ...g.Node) g.Node { return El("textarea", c) }
func Th(c ...g.Node) g.Node       { return El("th", c) }
func Thead(c ...g.Node) g.Node    { return El("thead", c) }
func Tr(c ...g.Node) g.Node       { return El("tr", c) }
func Ul(c ...g.Node) g.Node       { return El("ul", c) }

func Circle(c ...g.Node) g.Node  { return El("circle", c) }
func Defs(c ...g.Node) g.Node    { return El("defs", c) }
func Desc(c ...g.Node) g.Node    { return El("desc", c) }
func G(c ...g.Node) g.Node       { return El("g", c) }
func Path(c ...g.Node) g.Node    { return El("path", c) }
func Pattern(c ...g.Node) g.Node { return El("pattern", c) }
func Rect(c ...g.Node) g.Node    { return El("rect", c) }
func Svg(c ...g.Node) g.Node     { return El("svg", c) }
func SvgText(c ...g.Node) g.Node { return El("text", c) }
func Title(c ...g.Node) g.Node   { return El("title", c) }

// The attributes.

func Accept(v string) g.Node      { return Attr("accept", v) }
func Alt(v string) g.Node         { return Attr("alt", v) }
func Class(v string) g.Node       { return Attr("class", v) }
func For(v string) g.Node         { return Attr("for", v) }
func Href(v string) g.Node        { return Attr("href", v) }
func ID(v string) g.Node          { return Attr("id", v) }
func Max(v string) g.Node         { return Attr("max", v) }
func Min(v string) g.Node         { return Attr("min", v) }
func Name(v string) g.Node        { return Attr("name", v) }
func Placeholder(v string) g.Node { return Attr("placeholder", v) }
func Role(v string) g.Node        { return Attr("role", v) }
func Rows(v string) g.Node        { return Attr("rows", v) }
func TabIndex(v string) g.Node    { return Attr("tabindex", v) }
func Type(v string) g.Node        { return Attr("type", v) }
func Value(v string) g.Node       { return Attr("value", v) }

// The attributes without a value.

func Checked() g.Node  { return Flag("checked") }
func Required() g.Node { return Flag("required") }
func Selected() g.Node { return Flag("selected") }
