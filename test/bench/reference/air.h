/* U.S. Standard Atmosphere 1976, the same formulae and tables as core/earth/atmosphere; every constant comes with the data. */
#include <math.h>

#define LAYERS 7
#define UPPER_PARTS 5
#define INTERVAL_STRIDE 12

typedef struct {
  double density, pressure, soundSpeed;
} Air;

static struct {
  double base[LAYERS], gradient[LAYERS], temperature[LAYERS], pressure[LAYERS], exponent[LAYERS];
  double radius, gasConstant, soundFactor, heldSoundSpeed;
  const double *edges;
  int edgeCount;
  double upperBottom[UPPER_PARTS], upperKnots[UPPER_PARTS];
  int upperFirst[UPPER_PARTS], upperLast[UPPER_PARTS];
  const double *upper;
} sky;

static double powers[2098], octave[64], stepHigh, stepLow, stepsPerUnit;

static void makeExponential(void) {
  const double ln2 = 0.69314718055994530942;
  powers[0] = 4.94065645841246544e-324;
  for (int i = 1; i < 2098; i++) powers[i] = 2 * powers[i - 1];
  for (int i = 0; i < 64; i++) {
    double value = 1, root = 2;
    for (int bit = 32; bit >= 1; bit /= 2) {
      root = sqrt(root);
      if ((i & bit) != 0) value *= root;
    }
    octave[i] = value;
  }
  stepsPerUnit = 64 / ln2;
  stepHigh = (float)(ln2 / 64);
  stepLow = ln2 / 64 - stepHigh + 2.3190468138462996e-17 / 64;
}

static inline double fastExp(double x) {
  if (!(x > -700 && x < 700)) return exp(x);
  const int steps = (int)(x * stepsPerUnit + (1074 * 64 + 0.5));
  const int count = steps - 1074 * 64;
  const double r = x - count * stepHigh - count * stepLow;
  const double r2 = r * r;
  const double tail = r + r2 * (0.5 + r * (1.0 / 6) + r2 * (1.0 / 24 + r * (1.0 / 120)));
  const double scale = powers[steps >> 6] * octave[steps & 63];
  return scale + scale * tail;
}

static inline double logOfQuotient(double q) {
  const double q2 = q * q;
  const double q4 = q2 * q2;
  const double low = 2 + q2 * (2.0 / 3 + q2 * (2.0 / 5));
  const double middle = 2.0 / 7 + q2 * (2.0 / 9);
  const double high = 2.0 / 11 + q2 * (2.0 / 13) + q4 * (2.0 / 15 + q2 * (2.0 / 17));
  return q * (low + q4 * q2 * (middle + q4 * high));
}

static void readAir(void) {
  makeExponential();
  const double *layers = rowOf("layers", 5 * LAYERS)->values;
  for (int k = 0; k < LAYERS; k++) {
    sky.base[k] = layers[5 * k];
    sky.gradient[k] = layers[5 * k + 1];
    sky.temperature[k] = layers[5 * k + 2];
    sky.pressure[k] = layers[5 * k + 3];
    sky.exponent[k] = layers[5 * k + 4];
  }
  const double *air = rowOf("air", 4)->values;
  sky.radius = air[0];
  sky.gasConstant = air[1];
  sky.soundFactor = air[2];
  sky.heldSoundSpeed = air[3];
  const Row *edges = rowOf("airEdges", LAYERS + UPPER_PARTS);
  sky.edges = edges->values;
  sky.edgeCount = edges->count;
  const double *parts = rowOf("upperParts", 4 * UPPER_PARTS)->values;
  for (int k = 0; k < UPPER_PARTS; k++) {
    sky.upperBottom[k] = parts[4 * k];
    sky.upperKnots[k] = parts[4 * k + 1];
    sky.upperFirst[k] = (int)parts[4 * k + 2];
    sky.upperLast[k] = (int)parts[4 * k + 3];
  }
  sky.upper = rowOf("upperTable", INTERVAL_STRIDE)->values;
}

static inline double soundSpeedAt(double height, int piece) {
  if (piece >= LAYERS) return sky.heldSoundSpeed;
  const double rise = (sky.radius * height) / (sky.radius + height) - sky.base[piece];
  return sqrt(sky.soundFactor * (sky.temperature[piece] + sky.gradient[piece] * rise));
}

/* The air at a geometric height, m, by the formula of one piece. */
static inline Air airAt(double height, int piece) {
  Air air;
  if (piece < LAYERS) {
    const double gradient = sky.gradient[piece];
    const double base = sky.temperature[piece];
    const double whole = sky.radius + height;
    const double rise = sky.radius * height - sky.base[piece] * whole;
    const double gain = gradient * rise;
    const double temperature = base + gain / whole;
    const double inverse = 1 / (sky.gasConstant * temperature);
    const double depth = gradient == 0 ? rise / whole : logOfQuotient(gain / (2 * base * whole + gain));
    air.pressure = sky.pressure[piece] * fastExp(-sky.exponent[piece] * depth);
    air.density = air.pressure * inverse;
    air.soundSpeed = sqrt(sky.soundFactor * temperature);
  } else if (piece < LAYERS + UPPER_PARTS) {
    const int part = piece - LAYERS;
    const double argument = (height - sky.upperBottom[part]) * sky.upperKnots[part];
    const int last = sky.upperLast[part];
    const int interval = argument < 0 ? 0 : argument >= last ? last : (int)argument;
    const double t = argument - interval;
    const double *c = sky.upper + INTERVAL_STRIDE * (sky.upperFirst[part] + interval);
    air.density = fastExp(c[0] + t * (c[1] + t * (c[2] + t * c[3])));
    air.pressure = air.density * (c[4] + t * (c[5] + t * (c[6] + t * c[7])));
    air.soundSpeed = sky.heldSoundSpeed;
  } else {
    air.density = 0;
    air.pressure = 0;
    air.soundSpeed = sky.heldSoundSpeed;
  }
  return air;
}
