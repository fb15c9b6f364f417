package evidence

import (
	"fmt"
	"math"
)

// Design is what a log-linear model of counts is fitted to: the expected count of a
// row is its effort times the exponential of the sum of columns times coefficients.
type Design struct {
	Counts  []int
	Columns int
	Rows    []float64 // Columns figures for each count, one row after the other
	Effort  []float64 // per count; nil means 1 each
}

// Fit is a fitted log-linear model.
type Fit struct {
	Coef          []float64
	StdErr        []float64 // if counts spread as the model says
	Deviance      float64
	LogLikelihood float64
	Pearson       float64 // sum of squared residuals over the variance of the model
	DF            int     // counts minus columns
	Theta         float64 // of the negative binomial model; 0 means Poisson
	ThetaStdErr   float64
}

// AIC is Akaike's criterion for a number of fitted parameters.
func (f Fit) AIC(parameters int) float64 { return 2*float64(parameters) - 2*f.LogLikelihood }

// Limits of a design. They keep every exponential finite.
const (
	mostColumns = 12
	mostRows    = 100_000
	mostCount   = 1_000_000
	steps       = 100
	steepest    = 300 // largest logarithm of an expected count on the way
)

func (d *Design) check() error {
	rows := len(d.Counts)
	if err := valid(whole("columns", d.Columns, 1, mostColumns), whole("counts", rows, 1, mostRows),
		whole("figures in rows", len(d.Rows), rows*d.Columns, rows*d.Columns)); err != nil {
		return err
	}
	if d.Effort != nil && len(d.Effort) != rows {
		return &InputError{"efforts", float64(len(d.Effort))}
	}
	for i, y := range d.Counts {
		if err := valid(whole("count", y, 0, mostCount), check{"effort", d.effort(i), 0, 1e9, true}); err != nil {
			return err
		}
	}
	for _, x := range d.Rows {
		if err := valid(check{"figure", x, -1e6, 1e6, false}); err != nil {
			return err
		}
	}
	return nil
}

func (d *Design) effort(i int) float64 {
	if d.Effort == nil {
		return 1
	}
	return d.Effort[i]
}

func (d *Design) row(i int) []float64 { return d.Rows[i*d.Columns : (i+1)*d.Columns] }

// Poisson fits by maximum likelihood where the variance of a count is its mean.
func Poisson(d Design) (Fit, error) { return fit(&d, 0, false) }

// PoissonSteady fits with Firth's (1993) correction, which has a finite answer also
// when a group has no animals at all.
func PoissonSteady(d Design) (Fit, error) { return fit(&d, 0, true) }

// NegativeBinomial fits by maximum likelihood where the variance of a count is
// mean + mean²/theta, for a theta that is given.
func NegativeBinomial(d Design, theta float64) (Fit, error) {
	if err := valid(check{"theta", theta, 0, 1e9, true}); err != nil {
		return Fit{}, fmt.Errorf("fit: %w", err)
	}
	return fit(&d, theta, false)
}

func fit(d *Design, theta float64, steady bool) (Fit, error) {
	if err := d.check(); err != nil {
		return Fit{}, fmt.Errorf("fit: %w", err)
	}
	s := newSolver(d, theta, steady)
	if !s.run() {
		return Fit{}, fmt.Errorf("fit: %w", ErrNoFit)
	}
	return s.result(), nil
}

// solver finds the coefficients by iteratively re-weighted least squares. All its
// memory is made once.
type solver struct {
	d      *Design
	theta  float64
	steady bool
	coef   []float64
	mu     []float64
	lever  []float64 // leverage of each row, for the steady fit
	gram   []float64 // the weighted cross-product, then its Cholesky factor
	score  []float64
	work   []float64
}

func newSolver(d *Design, theta float64, steady bool) *solver {
	n, p := len(d.Counts), d.Columns
	all := make([]float64, 2*n+p*p+3*p)
	take := func(k int) []float64 {
		part := all[:k:k]
		all = all[k:]
		return part
	}
	return &solver{d: d, theta: theta, steady: steady,
		mu: take(n), lever: take(n), gram: take(p * p), coef: take(p), score: take(p), work: take(p)}
}

// weight is the information that a row with this mean carries.
func (s *solver) weight(mu float64) float64 {
	if s.theta == 0 {
		return mu
	}
	return mu * s.theta / (s.theta + mu)
}

// run starts from the counts themselves and improves until nothing changes.
func (s *solver) run() bool {
	for i, y := range s.d.Counts {
		s.mu[i] = float64(y) + 0.1
	}
	if !s.step(true) {
		return false
	}
	for range steps {
		before := s.objective()
		if !s.step(false) {
			return false
		}
		if math.Abs(s.objective()-before) < 1e-11*(math.Abs(before)+0.1) {
			return s.step(false) // one more, for the last digits
		}
	}
	return false
}

// step solves one weighted least-squares problem and moves to its answer.
func (s *solver) step(first bool) bool {
	clear(s.gram)
	clear(s.score)
	for i, y := range s.d.Counts {
		mu := s.mu[i]
		w := s.weight(mu)
		target := float64(y)
		if s.steady {
			target += s.lever[i] / 2
		}
		eta := math.Log(mu / s.d.effort(i))
		z := w * (eta + (target-mu)/mu)
		if first {
			z = w * eta
		}
		s.add(s.d.row(i), w, z)
	}
	if !factor(s.gram, s.d.Columns) {
		return false
	}
	solveFactor(s.gram, s.score, s.d.Columns)
	copy(s.coef, s.score)
	return s.predict()
}

func (s *solver) add(row []float64, w, z float64) {
	p := s.d.Columns
	for a, x := range row {
		s.score[a] += z * x
		for b := 0; b <= a; b++ {
			s.gram[a*p+b] += w * x * row[b]
		}
	}
}

// predict sets the means, and the leverages where they are needed.
func (s *solver) predict() bool {
	for i := range s.mu {
		row := s.d.row(i)
		eta := 0.0
		for a, x := range row {
			eta += x * s.coef[a]
		}
		if !(math.Abs(eta) < steepest) {
			return false
		}
		old := s.weight(s.mu[i])
		s.mu[i] = s.d.effort(i) * math.Exp(eta)
		if s.steady {
			s.lever[i] = old * s.spread(row)
		}
	}
	return true
}

// spread is the variance of a row's logarithm: row times the inverse of the
// cross-product times row.
func (s *solver) spread(row []float64) float64 {
	copy(s.work, row)
	forward(s.gram, s.work, s.d.Columns)
	sum := 0.0
	for _, v := range s.work {
		sum += v * v
	}
	return sum
}

// objective is what stops changing at the answer: the deviance, or the sum of the
// coefficients' sizes for the steady fit, which minimises another function.
func (s *solver) objective() float64 {
	if !s.steady {
		return s.deviance()
	}
	sum := 0.0
	for _, c := range s.coef {
		sum += math.Abs(c)
	}
	return sum
}
