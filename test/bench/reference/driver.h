/* Step-size control, landing on edges and the flight over segments, as core/ode/driver.ts and core/flight/engine.ts. */
#define MOST_STEPS_KEPT 20000
#define MOST_SEGMENTS 256
#define SLIVER 1e-12

typedef struct {
  double t, h;
  int layer, mach;
} Step;

static double relative, absolute[N], longestStep;
static Segment segments[MOST_SEGMENTS];
static int segmentCount, segmentStep[MOST_SEGMENTS + 1];
static double segmentState[MOST_SEGMENTS][N];
static Law laws[MOST_SEGMENTS];
static Law lawBefore;
static double lawBeforeStart;
static double start[N];
static Step steps[MOST_STEPS_KEPT];
static int stepCount;
static long accepted, rejected, shortened;

static double state[N], clock_s, suggestion, errorBefore;

static double firstStep(double tEnd) {
  double size = 0, speed = 0;
  for (int i = 0; i < N; i++) {
    const double scale = absolute[i] + relative * fabs(state[i]);
    size += (state[i] / scale) * (state[i] / scale);
    speed += (slope0[i] / scale) * (slope0[i] / scale);
  }
  const double guess = size > 1e-10 && speed > 1e-10 ? 0.01 * sqrt(size / speed) : 1e-6;
  return least(least(guess, 0.1 * (tEnd - clock_s)), longestStep);
}

static void keep(double t, double h) {
  if (stepCount == MOST_STEPS_KEPT) fail("too many steps in", "a flight");
  steps[stepCount++] = (Step){t, h, now.layer, now.mach};
}

/* Carries the state to tEnd; false when it meets the ground or cannot go on. */
static bool advance(double tEnd) {
  double h = suggestion > 0 ? suggestion : firstStep(tEnd);
  double marginStart = marginOf(state), groundStart = aboveGround(state);
  int idle = 0;
  while (clock_s < tEnd) {
    const double t = clock_s, remaining = tEnd - t;
    const double smallest = 1e-13 * (fabs(tEnd) > 1 ? fabs(tEnd) : 1);
    if (remaining <= smallest) {
      clock_s = tEnd;
      break;
    }
    if (h > longestStep) h = longestStep;
    double taken = h;
    if (taken >= remaining * (1 - 1e-9)) taken = remaining;
    else if (taken > 0.5 * remaining) taken = 0.5 * remaining;
    const double tNew = taken == remaining ? tEnd : t + taken;
    step(t, state, taken);
    const double error = errorNorm(state, taken, relative, absolute);
    if (!(error <= 1)) {
      rejected += 1;
      const double factor = 0.9 * pow(error, -0.2);
      h = taken * (isfinite(error) ? (factor > 0.1 ? factor : 0.1) : 0.1);
      if (h < smallest) return false;
      continue;
    }
    look.y = state;
    look.h = taken;
    look.dense = false;
    writeMiddle(state, taken, look.middle);
    const double marginEnd = marginOf(yEnd);
    const double exit = firstExit(marginStart, marginEnd);
    const double groundEnd = aboveGround(yEnd);
    const double passage = firstPassage(groundStart, groundEnd);
    if (exit == 0) {
      if (++idle > 20) return false;
      crossEdge(state);
      begin(t, state);
      marginStart = marginOf(state);
      continue;
    }
    double factor = pow(error > 1e-12 ? error : 1e-12, 0.2 - 0.04 * 0.75) / pow(errorBefore, 0.04) / 0.9;
    if (factor < 0.2) factor = 0.2;
    if (factor > 10) factor = 10;
    const double next = taken / factor;
    const bool met = passage != NOT_IN_STEP && !(passage > exit);
    const double stop = met ? passage : exit;
    const bool edge = !met && stop != NOT_IN_STEP;
    if (stop < 1 - SLIVER) {
      shortened += 1;
      const double cut = stop * taken;
      if (cut > smallest) {
        step(t, state, cut);
        keep(t, cut);
        accept(state);
        accepted += 1;
        idle = 0;
      } else if (edge && ++idle > 20) {
        return false;
      }
      clock_s = t + cut;
      h = next > cut ? next : cut;
    } else {
      keep(t, taken);
      accept(state);
      accepted += 1;
      idle = 0;
      clock_s = tNew;
      errorBefore = error > 1e-4 ? error : 1e-4;
      h = taken == h || next > h ? next : h;
    }
    suggestion = h;
    if (edge) {
      crossEdge(state);
      begin(clock_s, state);
    }
    if (met) return false;
    if (edge) {
      marginStart = marginOf(state);
      groundStart = aboveGround(state);
    } else {
      marginStart = marginEnd;
      groundStart = groundEnd;
    }
  }
  return true;
}

static void enter(int index, const double *y) {
  now.s = segments[index];
  now.drag = &drags[now.s.drag];
  if (now.s.law >= 0) startLaw(&laws[now.s.law], now.s.start, y);
}

static bool fly(void) {
  stepCount = 0;
  accepted = rejected = shortened = 0;
  memcpy(state, start, sizeof start);
  suggestion = 0;
  clock_s = segments[0].start;
  startLaw(&lawBefore, lawBeforeStart, start);
  for (int s = 0; s < segmentCount; s++) {
    enter(s, state);
    choosePiece(state);
    begin(clock_s, state);
    errorBefore = 1e-4;
    memcpy(segmentState[s], state, sizeof state);
    segmentStep[s] = stepCount;
    if (!advance(segments[s].end)) return false;
  }
  segmentStep[segmentCount] = stepCount;
  return true;
}

/* The last flight's steps again, without step-size control. */
static bool refly(void) {
  memcpy(state, segmentState[0], sizeof state);
  startLaw(&lawBefore, lawBeforeStart, start);
  for (int s = 0; s < segmentCount; s++) {
    enter(s, state);
    int layer = -1, mach = -1;
    for (int i = segmentStep[s]; i < segmentStep[s + 1]; i++) {
      if (steps[i].layer != layer || steps[i].mach != mach) {
        now.layer = layer = steps[i].layer;
        now.mach = mach = steps[i].mach;
        begin(steps[i].t, state);
      }
      step(steps[i].t, state, steps[i].h);
      accept(state);
    }
  }
  return isfinite(state[0] + state[3]);
}
