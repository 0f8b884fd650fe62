/* The rig of rig.cpp through the C interface: one handle for each camera, merged into one verdict. */
#include <inttypes.h>
#include <stdio.h>

#include <sievecloth/c/sievecloth.h>

enum { FIELDS = 20, APERTURES = 12, WIRES = 4 };

/* A simulated camera: what it sees in a field depends on the field alone. Lengths around `nominal` [pm], within +-`spread`. */
static void see(uint64_t* state, size_t count, int64_t nominal, int64_t spread, int64_t* lengths) {
  for (size_t i = 0; i < count; ++i) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    lengths[i] = nominal - spread + (int64_t)((*state >> 33) % (2 * (uint64_t)spread));
  }
}

static sievecloth_status watch(sievecloth_inspector* inspector, int first_field) {
  sievecloth_standing standing;
  sievecloth_standing_init(&standing);
  for (int field = first_field; field < FIELDS && !standing.rejected; field += 2) {
    uint64_t state = (uint64_t)field * 2654435761u + 1;
    for (int32_t direction = SIEVECLOTH_WARP; direction <= SIEVECLOTH_WEFT; ++direction) {
      int64_t lengths[APERTURES];
      see(&state, APERTURES, 75000000, 9000000, lengths);
      sievecloth_status status = sievecloth_inspector_add_pm(inspector, SIEVECLOTH_APERTURE, direction, lengths, APERTURES);
      if (status != SIEVECLOTH_OK) return status;
      see(&state, WIRES, 50000000, 2000000, lengths);
      status = sievecloth_inspector_add_pm(inspector, SIEVECLOTH_WIRE, direction, lengths, WIRES);
      if (status != SIEVECLOTH_OK) return status;
    }
    sievecloth_status status = sievecloth_inspector_standing(inspector, &standing);
    if (status != SIEVECLOTH_OK) return status;
  }
  return SIEVECLOTH_OK;
}

static sievecloth_status print(sievecloth_inspector* inspector, const char* name, int32_t direction) {
  sievecloth_figures figures;
  sievecloth_figures_init(&figures);
  sievecloth_status status = sievecloth_inspector_figures(inspector, SIEVECLOTH_APERTURE, direction, &figures);
  if (status != SIEVECLOTH_OK) return status;
  printf("%s n %" PRId64 " mean_um %.17g s_um %.17g\n", name, figures.n, figures.mean_um, figures.standard_deviation_um);
  return SIEVECLOTH_OK;
}

/* Everything between new and free; whatever goes wrong is in the handle's message. */
static sievecloth_status inspect(sievecloth_inspector* left, sievecloth_inspector* right, sievecloth_result* result) {
  sievecloth_options options;
  sievecloth_options_init(&options);
  options.standard = "astm-e11-17";
  options.size = "No. 200";
  options.grade = "inspection";
  options.viewing = SIEVECLOTH_VIEWING_PASSED;
  options.planned_warp = options.planned_weft = FIELDS / 2 * APERTURES; /* each handle's share */

  sievecloth_status status = sievecloth_inspector_begin(left, &options);
  if (status == SIEVECLOTH_OK) status = sievecloth_inspector_begin(right, &options);
  if (status == SIEVECLOTH_OK) status = watch(left, 0);
  if (status == SIEVECLOTH_OK) status = watch(right, 1);
  if (status == SIEVECLOTH_OK) status = sievecloth_inspector_merge(left, &right, 1);
  sievecloth_result_init(result);
  if (status == SIEVECLOTH_OK) status = sievecloth_inspector_finish(left, result);
  return status;
}

int main(void) {
  sievecloth_inspector* left = NULL;
  sievecloth_inspector* right = NULL;
  sievecloth_result result;
  if (sievecloth_inspector_new(&left) != SIEVECLOTH_OK || sievecloth_inspector_new(&right) != SIEVECLOTH_OK) return 70;
  sievecloth_status status = inspect(left, right, &result);
  if (status == SIEVECLOTH_OK) {
    printf("verdict %s\n", sievecloth_verdict_name(result.verdict));
    status = print(left, "warp", SIEVECLOTH_WARP);
  }
  if (status == SIEVECLOTH_OK) status = print(left, "weft", SIEVECLOTH_WEFT);
  if (status != SIEVECLOTH_OK)
    fprintf(stderr, "%d: %s%s\n", (int)status, sievecloth_inspector_message(left), sievecloth_inspector_message(right));
  sievecloth_inspector_free(left);
  sievecloth_inspector_free(right);
  if (status != SIEVECLOTH_OK) return 70;
  return result.verdict == SIEVECLOTH_CONFORMS ? 0 : 1;
}
