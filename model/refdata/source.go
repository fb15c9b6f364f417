package refdata

import (
	"slices"
	"strings"
)

// Grade says how a page was read.
type Grade byte

// The grades.
const (
	Paper      Grade = 'A' // the abstract of a reviewed paper
	Extension  Grade = 'B' // a page of an extension service, a university or a handbook
	SecondHand Grade = 'C' // cited at second hand, an encyclopedia, a trade page, a copy
)

// Source is a page or paper that a value was read in. Only an excerpt of each was
// seen: the abstract, or the start of the page.
type Source struct {
	ID    string
	Grade Grade
	About string // what it is and where it stands
}

// Find is the source with an id.
func Find(id string) (Source, bool) {
	i, ok := slices.BinarySearchFunc(sources, id, func(s Source, id string) int { return strings.Compare(s.ID, id) })
	if !ok {
		return Source{}, false
	}
	return sources[i], true
}

// Sources lists every source by its id.
func Sources() []Source { return slices.Clone(sources) }

// sources is in the order of the ids, for Find.
var sources = []Source{
	{"ALF-ORN", Extension, "Handbook of the pests of ornamental trees, shrubs and flowers, extract on greenhouse whitefly"},
	{"ARA1996", Paper, "Development rate of three mealybug species on citrus. Japanese Journal of Applied Entomology and Zoology 40(1): 25-34, 1996"},
	{"BDI-T", Paper, "Sex ratio, fecundity, longevity and hatch of Bradysia difformis at different temperatures"},
	{"BOU2001", Paper, "Temperature and two spider mites of raspberry. Annals of the Entomological Society of America 94(3): 400-404, 2001"},
	{"CAP2008", Extension, "Greenhouse whitefly, in an encyclopedia of entomology, DOI 10.1007/978-1-4020-6359-6_1185, 2008"},
	{"CSU-SYS", SecondHand, "State university extension text on aphids and systemics in the soil, read on a copy, 2019"},
	{"DEL2006", Paper, "Two thrips on cucumber under controlled conditions. Journal of Entomology 3(1): 61-69, 2006"},
	{"EAJ-TU", Paper, "Biology of the two-spotted spider mite at two constant temperatures. eajbsa.journals.ekb.eg, article 12844"},
	{"ECH-T", Paper, "Temperature and the development of Echinothrips americanus on pepper, with the number of generations"},
	{"ELD1976", Paper, "Temperature and the aphid Myzus persicae, DOI 10.1111/j.1439-0418.1976.tb03292.x, 1976"},
	{"GOL2009", Paper, "Temperature, life history and growth of the citrus mealybug on coleus, 2009"},
	{"HER1981", Paper, "Biology, life tables and increase of the two-spotted spider mite. The Canadian Entomologist, 1981 (year from memory)"},
	{"HUJ-SC", Extension, "Pests of the Middle East: Saissetia coffeae. A university's pages, agri.huji.ac.il"},
	{"HUL2003", Paper, "Western flower thrips on cucumber leaves with and without supplemental food. Entomologia Experimentalis et Applicata (from memory), 2003"},
	{"IBR1985", SecondHand, "Saissetia coffeae on potato sprouts, 1985, as cited by a university's crop knowledge pages"},
	{"IRA-CUC", Paper, "Greenhouse whitefly on four cucumber cultivars. Journal of Entomological Society of Iran, article 106409"},
	{"IRA-MP", Paper, "Temperature and the development of Myzus persicae on cabbage, two-sex life table"},
	{"JAM2012", Paper, "Temperature, development and damage by onion thrips. New Zealand Plant Protection 65: 126-132, DOI 10.30843/nzpp.2012.65.5381, 2012"},
	{"KAR2017", Paper, "Citrus mealybug under constant and alternating temperatures. Turkish Journal of Entomology 41(2): 147-157, 2017"},
	{"KAT1997", Paper, "Temperature and western flower thrips on chrysanthemum. Japanese Journal of Applied Entomology and Zoology 41(4), 1997"},
	{"KENT-TEMP", Extension, "County extension service: greenhouse temperatures and insects, 2008"},
	{"KER1999", Paper, "Temperature, development and fecundity of Aphis gossypii on cotton. Journal of Applied Entomology 123(1): 23-27, 1999"},
	{"KIM2012", Paper, "Development of Myzus persicae at constant and variable temperatures. Korean Journal of Applied Entomology 51(4): 431-438, 2012"},
	{"KOZ1984", Paper, "Mass rearing of the hemispherical scale. Zashchita Rastenii (1): 42, 1984"},
	{"KSU2922", Extension, "Western flower thrips: management on greenhouse crops. State university extension, MF2922"},
	{"LAN-ROS", SecondHand, "Spider mites and rose flower buds, 2004, as cited in Florida Entomologist 96(4)"},
	{"LI2011", Paper, "Host plants, temperature and western flower thrips, DOI 10.13292/j.1000-4890.2011.0085, 2011"},
	{"LIU1999", Paper, "Modelling development time of Myzus persicae. Bulletin of Entomological Research, 1999"},
	{"MAD1984", Paper, "Temperature requirements of greenhouse whitefly and a parasitoid. Entomologia Generalis 9(3): 149-154, 1984"},
	{"MCD1998", Paper, "Temperature and the development of western flower thrips. European Journal of Entomology 95 (from memory), 1998"},
	{"MES-CAS", Paper, "Life tables of two spider mites on cassava. Revista Colombiana de Entomologia, article 10216"},
	{"MVL2009", Paper, "Greenhouse whitefly in different conditions on two bean cultivars. Neotropical Entomology (from memory), 2009"},
	{"NCSU-BM", Extension, "State extension service: cyclamen mite and broad mite"},
	{"NCSU-CMB", Extension, "State extension service: citrus mealybug"},
	{"NCSU-FG", Extension, "State extension service: darkwinged fungus gnat"},
	{"NCSU-GHT", Extension, "State extension service: greenhouse thrips"},
	{"PAR2007", Paper, "Constant temperatures and the cotton aphid. Environmental Entomology, 2007"},
	{"PAT-TT", SecondHand, "Biology of onion thrips on onion. Journal of Chemical, Biological and Physical Sciences"},
	{"PEA-TU", Paper, "Temperature and Tetranychus urticae on two pear varieties. eajbsz.journals.ekb.eg, article 13876"},
	{"PLA-PC", Extension, "Compendium treatment of Planococcus citri on coffee, DOI of the book 10.1094/9780890544723.003"},
	{"PLA-SC", Extension, "Compendium treatment of Saissetia coffeae on coffee, DOI of the book 10.1094/9780890544723.003"},
	{"POL2008", Paper, "Citrus mealybug on ornamental plants. International Symposium on Scale Insect Studies, 2008"},
	{"RIJ1995", Paper, "Life history of two thrips on cucumber. Bulletin of Entomological Research, 1995"},
	{"SAT2008", Paper, "Temperature and two aphids on pepper. Journal of Plant Diseases and Protection 115(2): 69-74, 2008"},
	{"SCU-LIV", Paper, "Life history of the liverwort gnat Scatopsciara cunicularius, a related gnat"},
	{"SHI-LA", Paper, "Temperature and growth of Lycoriella auripila on button mushroom, a related gnat"},
	{"STA2002", SecondHand, "Development of onion thrips, 2002, as cited in a handbook of onions"},
	{"TAMU-MB", Extension, "State university horticultural pest profiles: mealybugs"},
	{"TAMU-TSM", Extension, "State university horticultural pest profiles: spider mites"},
	{"TAMU-WFT", Extension, "State university horticultural pest profiles: western flower thrips"},
	{"TCI-CAR", Paper, "Life history of the red spider mite on carnation. Revista Colombiana de Entomologia, article 9188"},
	{"TWN-AG", Paper, "Aphis gossypii on melon at different temperatures, 2011"},
	{"UCIPM-BM", Extension, "State university integrated pest management: cyclamen and broad mites"},
	{"UCIPM-SC", Extension, "State university integrated pest management: scales, Pest Notes 7408, partly read on a copy"},
	{"UCON-CARD", Extension, "State university: sticky cards to monitor for insects, 2010"},
	{"WHA1979", Paper, "Temperature, biotype and development of the green peach aphid. American Potato Journal, DOI 10.1007/BF02853990, 1979"},
	{"WIK-CH", SecondHand, "Encyclopedia article on Coccus hesperidum, read on a mirror"},
	{"XIA1999", Paper, "Temperature and the bionomics of cotton aphid. Entomologia Experimentalis et Applicata 90(1): 25-35, 1999"},
	{"ZHA2007", Paper, "Western flower thrips on five vegetable leaves. Journal of Applied Entomology (from memory), 2007"},
	{"ZHA2012", Paper, "Temperature, development and growth of western flower thrips. Acta Entomologica Sinica 55(10): 1168-1177, 2012"},
}
