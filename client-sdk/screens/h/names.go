package h

// The elements.

func A(c ...Node) Node        { return El("a", c) }
func Article(c ...Node) Node  { return El("article", c) }
func Button(c ...Node) Node   { return El("button", c) }
func Caption(c ...Node) Node  { return El("caption", c) }
func Dd(c ...Node) Node       { return El("dd", c) }
func Del(c ...Node) Node      { return El("del", c) }
func Details(c ...Node) Node  { return El("details", c) }
func Div(c ...Node) Node      { return El("div", c) }
func Dl(c ...Node) Node       { return El("dl", c) }
func Dt(c ...Node) Node       { return El("dt", c) }
func FieldSet(c ...Node) Node { return El("fieldset", c) }
func Figure(c ...Node) Node   { return El("figure", c) }
func Form(c ...Node) Node     { return El("form", c) }
func H1(c ...Node) Node       { return El("h1", c) }
func H2(c ...Node) Node       { return El("h2", c) }
func H3(c ...Node) Node       { return El("h3", c) }
func Header(c ...Node) Node   { return El("header", c) }
func Img(c ...Node) Node      { return El("img", c) }
func Input(c ...Node) Node    { return El("input", c) }
func Label(c ...Node) Node    { return El("label", c) }
func Legend(c ...Node) Node   { return El("legend", c) }
func Li(c ...Node) Node       { return El("li", c) }
func Nav(c ...Node) Node      { return El("nav", c) }
func Ol(c ...Node) Node       { return El("ol", c) }
func Option(c ...Node) Node   { return El("option", c) }
func P(c ...Node) Node        { return El("p", c) }
func Progress(c ...Node) Node { return El("progress", c) }
func Search(c ...Node) Node   { return El("search", c) }
func Section(c ...Node) Node  { return El("section", c) }
func Select(c ...Node) Node   { return El("select", c) }
func Span(c ...Node) Node     { return El("span", c) }
func Strong(c ...Node) Node   { return El("strong", c) }
func Summary(c ...Node) Node  { return El("summary", c) }
func Table(c ...Node) Node    { return El("table", c) }
func Tbody(c ...Node) Node    { return El("tbody", c) }
func Td(c ...Node) Node       { return El("td", c) }
func Textarea(c ...Node) Node { return El("textarea", c) }
func Th(c ...Node) Node       { return El("th", c) }
func Thead(c ...Node) Node    { return El("thead", c) }
func Tr(c ...Node) Node       { return El("tr", c) }
func Ul(c ...Node) Node       { return El("ul", c) }

func Circle(c ...Node) Node  { return El("circle", c) }
func Defs(c ...Node) Node    { return El("defs", c) }
func Desc(c ...Node) Node    { return El("desc", c) }
func G(c ...Node) Node       { return El("g", c) }
func Path(c ...Node) Node    { return El("path", c) }
func Pattern(c ...Node) Node { return El("pattern", c) }
func Rect(c ...Node) Node    { return El("rect", c) }
func Svg(c ...Node) Node     { return El("svg", c) }
func SvgText(c ...Node) Node { return El("text", c) }
func Title(c ...Node) Node   { return El("title", c) }

// The attributes.

func Accept(v string) Node      { return Attr("accept", v) }
func Alt(v string) Node         { return Attr("alt", v) }
func Class(v string) Node       { return Attr("class", v) }
func For(v string) Node         { return Attr("for", v) }
func Href(v string) Node        { return Attr("href", v) }
func ID(v string) Node          { return Attr("id", v) }
func Max(v string) Node         { return Attr("max", v) }
func Min(v string) Node         { return Attr("min", v) }
func Name(v string) Node        { return Attr("name", v) }
func Placeholder(v string) Node { return Attr("placeholder", v) }
func Role(v string) Node        { return Attr("role", v) }
func Rows(v string) Node        { return Attr("rows", v) }
func TabIndex(v string) Node    { return Attr("tabindex", v) }
func Type(v string) Node        { return Attr("type", v) }
func Value(v string) Node       { return Attr("value", v) }

// The attributes without a value.

func Checked() Node  { return Flag("checked") }
func Required() Node { return Flag("required") }
func Selected() Node { return Flag("selected") }
