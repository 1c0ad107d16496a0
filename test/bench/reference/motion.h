/* Equations of motion, as core/flight/motion.ts without ledger and wind. */
#include <stdbool.h>

#define REST 1e-3
#define MOST_ARRANGEMENTS 16

enum { VERTICAL = 0, KICK = 1, ZERO_ALPHA = 2, LINEAR_TANGENT = 3 };

typedef struct {
  double area;
  const double *edges;
  int edgeCount;
  /* Five numbers a piece: origin and the coefficients of a cubic. */
  const double *pieces;
} Drag;

typedef struct {
  double start, end, thrust, thrustRate, area, areaRate, flow, flowRate, mass;
  int drag, law;
} Segment;

typedef struct {
  int kind;
  double first, second;
} Law;

static Drag drags[MOST_ARRANGEMENTS];
static struct {
  double gm, oblate, equatorial, flattening, rotation;
} earth;
static double launchUp[3], launchAhead[3];

/* What is in force in a segment. */
static struct {
  Segment s;
  const Drag *drag;
  int kind;
  double lawStart, first, second;
  double up[3], ahead[3];
  int layer, mach;
} now;

static void startLaw(const Law *law, double t, const double *y) {
  now.kind = law->kind;
  now.lawStart = t;
  now.first = law->first;
  now.second = law->second;
  if (law->kind != LINEAR_TANGENT) {
    memcpy(now.up, launchUp, sizeof launchUp);
    memcpy(now.ahead, launchAhead, sizeof launchAhead);
    return;
  }
  const double r = sqrt(y[0] * y[0] + y[1] * y[1] + y[2] * y[2]);
  double climb = 0, h2 = 0;
  for (int i = 0; i < 3; i++) now.up[i] = y[i] / r;
  for (int i = 0; i < 3; i++) climb += y[3 + i] * now.up[i];
  for (int i = 0; i < 3; i++) {
    now.ahead[i] = y[3 + i] - climb * now.up[i];
    h2 += now.ahead[i] * now.ahead[i];
  }
  for (int i = 0; i < 3; i++) now.ahead[i] /= sqrt(h2);
}

static inline double heightOf(double x, double y, double z) {
  const double r2 = x * x + y * y + z * z;
  const double s2 = z * z / r2;
  const double f = earth.flattening;
  return sqrt(r2) - earth.equatorial * (1 - f * s2 * (1 + 1.5 * f * (1 - s2)));
}

static inline double dragCoefficient(double mach) {
  const double *c = now.drag->pieces + 5 * now.mach;
  const double u = mach - c[0];
  return c[1] + u * (c[2] + u * (c[3] + u * c[4]));
}

static void derivative(double t, const double *restrict y, double *restrict slope) {
  const double x = y[0], yy = y[1], z = y[2], vx = y[3], vy = y[4], vz = y[5];
  const double r2 = x * x + yy * yy + z * z;
  const double r = sqrt(r2);

  const double inverse2 = 1 / r2;
  const double central = -earth.gm * inverse2 * sqrt(inverse2);
  const double oblate = earth.oblate * inverse2;
  const double s2 = 5 * z * z * inverse2;
  const double side = central * (1 + oblate * (1 - s2));

  const double height = heightOf(x, yy, z);
  const Air air = airAt(height, now.layer);
  const double wx = vx + earth.rotation * yy;
  const double wy = vy - earth.rotation * x;
  const double speed = sqrt(wx * wx + wy * wy + vz * vz);
  double ux, uy, uz;
  if (speed > REST) {
    ux = wx / speed;
    uy = wy / speed;
    uz = vz / speed;
  } else {
    ux = x / r;
    uy = yy / r;
    uz = z / r;
  }
  const double mach = speed / air.soundSpeed;
  const double drag = 0.5 * air.density * speed * speed * now.drag->area * dragCoefficient(mach);

  const double tau = t - now.s.start;
  const double mass = now.s.mass - tau * (now.s.flow + 0.5 * tau * now.s.flowRate);
  const double vacuum = now.s.thrust + tau * now.s.thrustRate;
  const double net = vacuum - air.pressure * (now.s.area + tau * now.s.areaRate);
  double dx, dy, dz;
  switch (now.kind) {
    case ZERO_ALPHA:
      dx = ux;
      dy = uy;
      dz = uz;
      break;
    case VERTICAL:
      dx = now.up[0];
      dy = now.up[1];
      dz = now.up[2];
      break;
    default: {
      double c, s;
      if (now.kind == KICK) {
        const double part = (t - now.lawStart) / now.second;
        const double angle = now.first * (part < 0 ? 0 : part > 1 ? 1 : part);
        c = cos(angle);
        s = sin(angle);
      } else {
        const double tangent = now.first + now.second * (t - now.lawStart);
        c = 1 / sqrt(1 + tangent * tangent);
        s = tangent * c;
        /* Here the tangent is that of the angle above the horizontal. */
        const double swap = c;
        c = s;
        s = swap;
      }
      dx = c * now.up[0] + s * now.ahead[0];
      dy = c * now.up[1] + s * now.ahead[1];
      dz = c * now.up[2] + s * now.ahead[2];
    }
  }
  const double push = net / mass;
  const double brake = drag / mass;
  slope[0] = vx;
  slope[1] = vy;
  slope[2] = vz;
  slope[3] = side * x + push * dx - brake * ux;
  slope[4] = side * yy + push * dy - brake * uy;
  slope[5] = central * (1 + oblate * (3 - s2)) * z + push * dz - brake * uz;
}

static inline void locate(const double *y, double *height, double *mach) {
  *height = heightOf(y[0], y[1], y[2]);
  const double wx = y[3] + earth.rotation * y[1];
  const double wy = y[4] - earth.rotation * y[0];
  *mach = sqrt(wx * wx + wy * wy + y[5] * y[5]) / soundSpeedAt(*height, now.layer);
}

static inline double least(double a, double b) { return b < a ? b : a; }

/* Distance to the nearest edge of the frozen pieces: Mach numbers as they are, heights in km. */
static double marginOf(const double *y) {
  double height, mach, margin = INFINITY;
  locate(y, &height, &mach);
  const int layer = now.layer, piece = now.mach;
  if (layer > 0) margin = least(margin, (height - sky.edges[layer - 1]) * 1e-3);
  if (layer < sky.edgeCount) margin = least(margin, (sky.edges[layer] - height) * 1e-3);
  if (piece > 0) margin = least(margin, mach - now.drag->edges[piece - 1]);
  if (piece < now.drag->edgeCount) margin = least(margin, now.drag->edges[piece] - mach);
  return margin;
}

static int moved(const double *edges, int count, int piece, double value, double near) {
  if (piece < count && value >= edges[piece] - near) return piece + 1;
  if (piece > 0 && value <= edges[piece - 1] + near) return piece - 1;
  return piece;
}

static void crossEdge(const double *y) {
  const double margin = marginOf(y);
  const double near = (margin > 0 ? margin : 0) + 1e-12;
  double height, mach;
  locate(y, &height, &mach);
  now.layer = moved(sky.edges, sky.edgeCount, now.layer, height, near * 1e3);
  now.mach = moved(now.drag->edges, now.drag->edgeCount, now.mach, mach, near);
}

static int pieceAt(const double *edges, int count, double value) {
  int piece = 0;
  while (piece < count && value >= edges[piece]) piece++;
  return piece;
}

static void choosePiece(const double *y) {
  double height, mach;
  now.layer = pieceAt(sky.edges, sky.edgeCount, heightOf(y[0], y[1], y[2]));
  locate(y, &height, &mach);
  now.mach = pieceAt(now.drag->edges, now.drag->edgeCount, mach);
}
