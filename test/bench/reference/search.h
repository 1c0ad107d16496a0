/* Where within a step the frozen piece is left or the ground is met, as core/ode/events.ts and core/math/roots.ts. */
#define NOT_IN_STEP 2
#define ON_EDGE 1e-12
#define ROOT_TOLERANCE 1e-13

static double ground;

/* The step looked into. */
static struct {
  const double *y;
  double h;
  bool dense;
  double middle[N], probe[N];
} look;

static double aboveGround(const double *y) { return heightOf(y[0], y[1], y[2]) - ground; }

static double at(double theta, double (*value)(const double *)) {
  if (!look.dense) {
    writeDense(look.y, look.h);
    look.dense = true;
  }
  interpolate(theta, look.probe);
  return value(look.probe);
}

/* Brent's method on one of the two functions. */
static double findRoot(double (*value)(const double *), double a, double b, double fa, double fb) {
  if (fa == 0) return a;
  if (fb == 0) return b;
  double c = a, fc = fa, d = b - a, e = d;
  for (int i = 0;; i++) {
    if (fabs(fc) < fabs(fb)) {
      a = b;
      fa = fb;
      b = c;
      fb = fc;
      c = a;
      fc = fa;
    }
    const double small = 2 * 2.220446049250313e-16 * fabs(b) + 0.5 * ROOT_TOLERANCE;
    const double half = 0.5 * (c - b);
    if (fabs(half) <= small || fb == 0) return b;
    if (i < 50 && fabs(e) >= small && fabs(fa) > fabs(fb)) {
      const double s = fb / fa;
      double p, q;
      if (a == c) {
        p = 2 * half * s;
        q = 1 - s;
      } else {
        const double u = fa / fc, v = fb / fc;
        p = s * (2 * half * u * (u - v) - (b - a) * (v - 1));
        q = (u - 1) * (v - 1) * (s - 1);
      }
      if (p > 0) q = -q;
      else p = -p;
      if (2 * p < least(3 * half * q - fabs(small * q), fabs(e * q))) {
        e = d;
        d = p / q;
      } else {
        d = half;
        e = half;
      }
    } else {
      d = half;
      e = half;
    }
    a = b;
    fa = fb;
    b += fabs(d) > small ? d : (half < 0 ? -small : small);
    fb = at(b, value);
    if ((fb > 0) == (fc > 0)) {
      c = a;
      fc = fa;
      d = b - a;
      e = d;
    }
  }
}

static double hiddenExtremum(double before, double middle, double after) {
  if (before * after < 0) return NAN;
  const double curvature = 2 * (before - 2 * middle + after);
  if (!(curvature * (before + after) > 0)) return NAN;
  const double theta = (3 * before - 4 * middle + after) / (2 * curvature);
  return theta > 0 && theta < 1 && theta != 0.5 ? theta : NAN;
}

static bool falls(double before, double after) { return before > 0 && after <= 0; }

/* Share of the step at which the ground is met. */
static double firstPassage(double before, double after) {
  const double middle = aboveGround(look.middle);
  const double extremum = hiddenExtremum(before, middle, after);
  double left = 0, leftValue = before;
  if (extremum < 0.5) {
    const double value = at(extremum, aboveGround);
    if (falls(before, value)) return findRoot(aboveGround, 0, extremum, before, value);
    left = extremum;
    leftValue = value;
  }
  if (falls(leftValue, middle)) return findRoot(aboveGround, left, 0.5, leftValue, middle);
  left = 0.5;
  leftValue = middle;
  if (extremum > 0.5) {
    const double value = at(extremum, aboveGround);
    if (falls(middle, value)) return findRoot(aboveGround, 0.5, extremum, middle, value);
    left = extremum;
    leftValue = value;
  }
  if (falls(leftValue, after)) return findRoot(aboveGround, left, 1, leftValue, after);
  return NOT_IN_STEP;
}

/* Share of the step at which the frozen piece is left. */
static double firstExit(double start, double end) {
  const double middle = marginOf(look.middle);
  const double extremum = hiddenExtremum(start, middle, end);
  const double value = isnan(extremum) ? INFINITY : at(extremum, marginOf);
  double inside = 0, insideMargin = start, outside = 1, outsideMargin = end;
  if (extremum < 0.5 && value < -ON_EDGE) {
    outside = extremum;
    outsideMargin = value;
  } else if (middle < -ON_EDGE) {
    outside = 0.5;
    outsideMargin = middle;
    if (extremum < 0.5 && value > ON_EDGE) {
      inside = extremum;
      insideMargin = value;
    }
  } else {
    if (extremum > 0.5 && value < -ON_EDGE) {
      outside = extremum;
      outsideMargin = value;
    } else if (!(end < -ON_EDGE)) {
      return NOT_IN_STEP;
    }
    if (middle > ON_EDGE) {
      inside = 0.5;
      insideMargin = middle;
    }
  }
  for (int k = 0; k < 40 && !(insideMargin > ON_EDGE); k++) {
    const double theta = inside + 0.5 * (outside - inside);
    const double margin = at(theta, marginOf);
    if (margin > ON_EDGE) {
      inside = theta;
      insideMargin = margin;
    } else {
      outside = theta;
      outsideMargin = margin;
    }
  }
  if (!(insideMargin > ON_EDGE)) return 0;
  if (outsideMargin >= 0) return outside;
  return findRoot(marginOf, inside, outside, insideMargin, outsideMargin);
}
