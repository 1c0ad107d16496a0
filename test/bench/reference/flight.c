/*
 * The same flight as core/flight flies, written the way one writes C: what the machine can do, for scale.
 * Same pair of formulae, step-size control, frozen pieces, landing on edges, atmosphere, plan and tolerances; all numbers
 * of the study are read from the file named as the argument. One translation unit on purpose.
 *
 * Commands on standard input, one a line, each answered by one line: "fly N" and "refly N" run N times and answer
 *   right-hand sides, accepted, rejected and shortened steps of the last run, its six state numbers, then N times in ns.
 */
#define _POSIX_C_SOURCE 199309L
#include <time.h>

#include "data.h"
#include "air.h"
#include "motion.h"
#include "stepper.h"
#include "search.h"
#include "driver.h"

static void readFlight(const char *path) {
  readRows(path);
  readAir();
  const double *planet = rowOf("earth", 5)->values;
  earth.gm = planet[0];
  earth.oblate = planet[1];
  earth.equatorial = planet[2];
  earth.flattening = planet[3];
  earth.rotation = planet[4];
  const double *limits = rowOf("limits", 5)->values;
  relative = limits[0];
  for (int i = 0; i < N; i++) absolute[i] = limits[i < 3 ? 1 : 2];
  longestStep = limits[3];
  ground = limits[4];
  memcpy(start, rowOf("start", N)->values, sizeof start);
  memcpy(launchUp, rowOf("up", 3)->values, sizeof launchUp);
  memcpy(launchAhead, rowOf("ahead", 3)->values, sizeof launchAhead);
  const double *before = rowOf("lawBefore", 4)->values;
  lawBefore = (Law){(int)before[0], before[1], before[2]};
  lawBeforeStart = before[3];

  const Row *row = rowOf("laws", 0);
  if (row->count / 3 > MOST_SEGMENTS) fail("too many", "laws");
  for (int i = 0; i < row->count / 3; i++) {
    const double *v = row->values + 3 * i;
    laws[i] = (Law){(int)v[0], v[1], v[2]};
  }
  row = rowOf("segments", 11);
  segmentCount = row->count / 11;
  if (segmentCount > MOST_SEGMENTS) fail("too many", "segments");
  for (int i = 0; i < segmentCount; i++) {
    const double *v = row->values + 11 * i;
    segments[i] = (Segment){v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7], v[8], (int)v[9], (int)v[10]};
  }
  const Row *areas = rowOf("dragAreas", 1);
  if (areas->count > MOST_ARRANGEMENTS) fail("too many", "drag tables");
  for (int i = 0; i < areas->count; i++) {
    char name[32];
    snprintf(name, sizeof name, "dragEdges%d", i);
    row = rowOf(name, 0);
    drags[i].area = areas->values[i];
    drags[i].edges = row->values;
    drags[i].edgeCount = row->count;
    snprintf(name, sizeof name, "dragPieces%d", i);
    drags[i].pieces = rowOf(name, 5 * (row->count + 1))->values;
  }
}

static double seconds(void) {
  struct timespec time;
  clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

int main(int argc, char **argv) {
  if (argc != 2) fail("wants one argument", "the file with the flight's data");
  readFlight(argv[1]);
  char command[16];
  int count;
  while (scanf("%15s %d", command, &count) == 2) {
    if (count < 1 || count > 100000) fail("count out of range for", command);
    double *times = malloc(sizeof(double) * (size_t)count);
    if (times == NULL) fail("no memory for", "the times");
    bool (*run)(void) = strcmp(command, "fly") == 0 ? fly : strcmp(command, "refly") == 0 ? refly : NULL;
    if (run == NULL) fail("unknown command", command);
    bool flown = true;
    for (int i = 0; i < count; i++) {
      evaluations = 0;
      const double before = seconds();
      flown = run() && flown;
      times[i] = seconds() - before;
    }
    if (!flown) fail("the flight did not come to its end", command);
    printf("%ld %ld %ld %ld", evaluations, accepted, rejected, shortened);
    for (int i = 0; i < N; i++) printf(" %.17g", state[i]);
    for (int i = 0; i < count; i++) printf(" %.0f", 1e9 * times[i]);
    printf("\n");
    fflush(stdout);
    free(times);
  }
  return 0;
}
