/* A flight as data: named rows of numbers, as test/bench/flightData.ts writes them. One row a line: name, count, numbers. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_ROWS 64

typedef struct {
  char name[32];
  int count;
  double *values;
} Row;

static Row rows[MOST_ROWS];
static int rowCount = 0;

static void fail(const char *what, const char *name) {
  fprintf(stderr, "flight: %s: %s\n", what, name);
  exit(2);
}

static void readRows(const char *path) {
  FILE *file = fopen(path, "r");
  if (file == NULL) fail("cannot open", path);
  Row row;
  while (fscanf(file, "%31s %d", row.name, &row.count) == 2) {
    if (rowCount == MOST_ROWS) fail("too many rows at", row.name);
    row.values = malloc(sizeof(double) * (size_t)(row.count > 0 ? row.count : 1));
    if (row.values == NULL) fail("no memory for", row.name);
    for (int i = 0; i < row.count; i++)
      if (fscanf(file, "%lf", &row.values[i]) != 1) fail("too few numbers in", row.name);
    rows[rowCount++] = row;
  }
  fclose(file);
}

/* The row of a name; ends the program when there is none, or fewer numbers than are wanted. */
static const Row *rowOf(const char *name, int least) {
  for (int i = 0; i < rowCount; i++) {
    if (strcmp(rows[i].name, name) != 0) continue;
    if (rows[i].count < least) fail("too few numbers in", name);
    return &rows[i];
  }
  fail("no row", name);
  return NULL;
}
