/* One step of the pair of Dormand and Prince, its error and its interpolant, as core/ode/stepper.ts and dense.ts. */
#define N 6

static double slope0[N], k2[N], k3[N], k4[N], k5[N], k6[N], k7[N], yEnd[N];
static double dense[5 * N];
static long evaluations = 0;

static void begin(double t, const double *y) {
  derivative(t, y, slope0);
  evaluations += 1;
}

static void step(double t, const double *restrict y, double h) {
  double stage[N];
  for (int i = 0; i < N; i++) stage[i] = y[i] + h * (0.2 * slope0[i]);
  derivative(t + 0.2 * h, stage, k2);
  for (int i = 0; i < N; i++) stage[i] = y[i] + h * ((3.0 / 40) * slope0[i] + (9.0 / 40) * k2[i]);
  derivative(t + 0.3 * h, stage, k3);
  for (int i = 0; i < N; i++)
    stage[i] = y[i] + h * ((44.0 / 45) * slope0[i] - (56.0 / 15) * k2[i] + (32.0 / 9) * k3[i]);
  derivative(t + 0.8 * h, stage, k4);
  for (int i = 0; i < N; i++)
    stage[i] = y[i] + h * ((19372.0 / 6561) * slope0[i] - (25360.0 / 2187) * k2[i] +
                           (64448.0 / 6561) * k3[i] - (212.0 / 729) * k4[i]);
  derivative(t + (8.0 / 9) * h, stage, k5);
  for (int i = 0; i < N; i++)
    stage[i] = y[i] + h * ((9017.0 / 3168) * slope0[i] - (355.0 / 33) * k2[i] + (46732.0 / 5247) * k3[i] +
                           (49.0 / 176) * k4[i] - (5103.0 / 18656) * k5[i]);
  derivative(t + h, stage, k6);
  for (int i = 0; i < N; i++)
    yEnd[i] = y[i] + h * ((35.0 / 384) * slope0[i] + (500.0 / 1113) * k3[i] + (125.0 / 192) * k4[i] -
                          (2187.0 / 6784) * k5[i] + (11.0 / 84) * k6[i]);
  derivative(t + h, yEnd, k7);
  evaluations += 6;
}

static double errorNorm(const double *y, double h, double relative, const double *absolute) {
  double sum = 0;
  for (int i = 0; i < N; i++) {
    const double error = h * ((71.0 / 57600) * slope0[i] - (71.0 / 16695) * k3[i] + (71.0 / 1920) * k4[i] -
                              (17253.0 / 339200) * k5[i] + (22.0 / 525) * k6[i] - (1.0 / 40) * k7[i]);
    const double before = fabs(y[i]), after = fabs(yEnd[i]);
    const double scaled = error / (absolute[i] + relative * (before > after ? before : after));
    sum += scaled * scaled;
  }
  return sqrt(sum / N);
}

static const double D1 = -12715105075.0 / 11282082432.0, D3 = 87487479700.0 / 32700410799.0,
                    D4 = -10690763975.0 / 1880347072.0, D5 = 701980252875.0 / 199316789632.0,
                    D6 = -1453857185.0 / 822651844.0, D7 = 69997945.0 / 29380423.0;

static void writeDense(const double *y, double h) {
  for (int i = 0; i < N; i++) {
    const double rise = yEnd[i] - y[i];
    const double bend = h * slope0[i] - rise;
    dense[i] = y[i];
    dense[N + i] = rise;
    dense[2 * N + i] = bend;
    dense[3 * N + i] = rise - h * k7[i] - bend;
    dense[4 * N + i] =
        h * (D1 * slope0[i] + D3 * k3[i] + D4 * k4[i] + D5 * k5[i] + D6 * k6[i] + D7 * k7[i]);
  }
}

static void interpolate(double theta, double *out) {
  const double left = 1 - theta;
  for (int i = 0; i < N; i++)
    out[i] = dense[i] +
             theta * (dense[N + i] +
                      left * (dense[2 * N + i] + theta * (dense[3 * N + i] + left * dense[4 * N + i])));
}

static void writeMiddle(const double *y, double h, double *out) {
  for (int i = 0; i < N; i++) {
    const double bend = (0.125 + D1 / 16) * slope0[i] + (D3 / 16) * k3[i] + (D4 / 16) * k4[i] +
                        (D5 / 16) * k5[i] + (D6 / 16) * k6[i] + (D7 / 16 - 0.125) * k7[i];
    out[i] = 0.5 * (y[i] + yEnd[i]) + h * bend;
  }
}

static void accept(double *y) {
  memcpy(y, yEnd, sizeof yEnd);
  memcpy(slope0, k7, sizeof k7);
}
