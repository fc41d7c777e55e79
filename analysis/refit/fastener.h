/* Screws of the door: geometry of the thread, proof load, preload and tightening torque.
 *
 * A calculation for ordinary metric screws that hold a regulator in a door, not for what a life hangs on (belt, airbag,
 * hinge): there the maker's figure is the only one. SI units; opens no file, allocates nothing.
 *
 * Sources: thread geometry ISO 724 and, for the stress area, ISO 898-1; coarse pitches ISO 261; stresses of the property
 * classes ISO 898-1; bearing face of hexagons ISO 4014 and 4032; clearance holes ISO 273, medium; torque from friction
 * coefficients by the equation of Kellermann and Klein, as in ISO 16047 and VDI 2230. All from memory but the stress
 * area and the least loads of M6: check the texts before you print them as law. */
#ifndef UPSTOP_ANALYSIS_REFIT_FASTENER_H
#define UPSTOP_ANALYSIS_REFIT_FASTENER_H

/* ---- thread ---- */

typedef struct up_thread {
    double diameter; /* m, nominal */
    double pitch;    /* m          */
} up_thread;

/* Sizes known here: M3 to M16, ISO 262 first choice. */
typedef struct up_thread_size {
    double diameter;     /* m                                                */
    double coarse_pitch; /* m, ISO 261                                       */
    double across_flats; /* m, the spanner: ISO 4014 and 4017                */
    double bearing;      /* m, least outer diameter of the bearing face, d_w */
    double hole;         /* m, clearance hole, ISO 273 medium, d_h           */
} up_thread_size;

int up_thread_size_count(void);
const up_thread_size *up_thread_size_at(int index);       /* rising diameters; NULL outside the list           */
const up_thread_size *up_thread_size_of(double diameter); /* within a micrometre; NULL: not a size known here  */

double up_thread_pitch_diameter(up_thread thread); /* m, d2 = d - 3/4 H, H = sqrt(3)/2 P: ISO 724  */
double up_thread_minor_diameter(up_thread thread); /* m, d1 = d - 5/4 H: ISO 724                   */
double up_thread_root_diameter(up_thread thread);  /* m, d3 = d1 - H/6: ISO 898-1                  */
double up_thread_stress_area(up_thread thread);    /* m2, pi/4 ((d2 + d3)/2)^2: ISO 898-1           */

/* ---- property class ---- */

/* X(id, word, least tensile strength MPa, yield MPa, proof stress MPa) for d up to 16 mm, ISO 898-1, from memory.
 * Yield: lower yield point, or 0.2 % limit from class 8.8 on. */
#define UP_SCREW_CLASS_LIST(X)       \
    X(C4_6, "4.6", 400, 240, 225)    \
    X(C4_8, "4.8", 420, 340, 310)    \
    X(C5_6, "5.6", 500, 300, 280)    \
    X(C5_8, "5.8", 520, 420, 380)    \
    X(C6_8, "6.8", 600, 480, 440)    \
    X(C8_8, "8.8", 800, 640, 580)    \
    X(C9_8, "9.8", 900, 720, 650)    \
    X(C10_9, "10.9", 1040, 940, 830) \
    X(C12_9, "12.9", 1220, 1100, 970)

typedef enum up_screw_class {
#define UP_SCREW_CLASS_ENUM(id, word, tensile, yield, proof) UP_SCREW_##id,
    UP_SCREW_CLASS_LIST(UP_SCREW_CLASS_ENUM)
#undef UP_SCREW_CLASS_ENUM
        UP_SCREW_CLASS_COUNT
} up_screw_class;

const char *up_screw_class_word(up_screw_class screw_class); /* "8.8"; static storage */
double up_screw_class_tensile(up_screw_class screw_class);   /* Pa                    */
double up_screw_class_yield(up_screw_class screw_class);     /* Pa                    */
double up_screw_class_proof(up_screw_class screw_class);     /* Pa                    */

double up_screw_ultimate_load(up_thread thread, up_screw_class screw_class); /* N, least */
double up_screw_proof_load(up_thread thread, up_screw_class screw_class);    /* N        */

/* ---- torque ---- */

/* X(id, word, nut factor, friction coefficient, its least, its most). Nut factors and coefficients from memory; for dry
 * steel as delivered and for a film of oil the published tables differ by more than what is set here between low and
 * high. Greased is practice, no source. */
#define UP_LUBRICATION_LIST(X)                 \
    X(DRY, "dry", 0.20, 0.150, 0.12, 0.20)     \
    X(OILED, "oiled", 0.15, 0.125, 0.09, 0.15) \
    X(GREASED, "greased", 0.13, 0.100, 0.07, 0.13)

typedef enum up_lubrication {
#define UP_LUBRICATION_ENUM(id, word, factor, friction, low, high) UP_LUBRICATION_##id,
    UP_LUBRICATION_LIST(UP_LUBRICATION_ENUM)
#undef UP_LUBRICATION_ENUM
        UP_LUBRICATION_COUNT
} up_lubrication;

const char *up_lubrication_word(up_lubrication lubrication);
double up_lubrication_nut_factor(up_lubrication lubrication); /* K of T = K F d      */
double up_lubrication_friction(up_lubrication lubrication);   /* 1, thread and head  */
void up_lubrication_friction_range(up_lubrication lubrication, double *low, double *high);

/* T = K F d, N m. */
double up_torque_by_nut_factor(double factor, double preload, double diameter);

/* T = F (P / 2 pi + 0.577 mu_thread d2 + mu_head (d_w + d_h) / 4), N m; hexagon head or nut of the size. 0.577 is half of
 * 1 / cos 30 degrees, the flank. NaN for a size not known here. */
double up_torque_by_friction(up_thread thread, double thread_friction, double head_friction, double preload);

/* Preload, N, at which tension and torsion together reach `share` of the yield stress while it is tightened, torsion
 * reckoned elastically in the outermost fibre of the stress section (the older and more careful reckoning; with the
 * section yielding right through it would be about a tenth more). */
double up_preload_combined(up_thread thread, up_screw_class screw_class, double thread_friction, double share);

/* ---- what the card says ---- */

/* X(id, word, lowest, highest torque for M6 in N m; 0: none of its own, text). Practice, no source. Other sizes by the
 * cube of the diameter: the same stress in what holds the thread. */
#define UP_THREAD_IN_LIST(X)                                  \
    X(NUT, "nut", 0, 0, "steel nut of the screw's class")     \
    X(WELD_NUT, "weld-nut", 8, 10, "weld nut in sheet metal") \
    X(PLASTIC, "plastic", 4, 7, "plastic, or a clamp on the glass")

typedef enum up_thread_in {
#define UP_THREAD_IN_ENUM(id, word, low, high, text) UP_THREAD_IN_##id,
    UP_THREAD_IN_LIST(UP_THREAD_IN_ENUM)
#undef UP_THREAD_IN_ENUM
        UP_THREAD_IN_COUNT
} up_thread_in;

const char *up_thread_in_word(up_thread_in into);
const char *up_thread_in_text(up_thread_in into);

typedef struct up_screw {
    up_thread thread;
    up_screw_class screw_class;
    up_lubrication lubrication;
    up_thread_in into;
} up_screw;

/* Share of the proof load that the torque aims at, where the screw decides (practice for joints that are undone again). */
#define UP_PRELOAD_SHARE 0.75

typedef struct up_tightening {
    double stress_area;               /* m2                                                               */
    double proof_load;                /* N                                                                */
    double by_nut_factor;             /* N m, both for UP_PRELOAD_SHARE of the proof load, uncapped       */
    double by_friction;               /* N m                                                              */
    double cap;                       /* N m, what holds the thread bears no more; +inf: no cap           */
    double set;                       /* N m, for the torque wrench: the lower of both, capped            */
    double highest;                   /* N m, not above: the higher of both, capped                       */
    int capped;                       /* 1: what holds the thread decides, not the screw                  */
    double preload;                   /* N at `set`, with the usual friction                              */
    double preload_low, preload_high; /* N at `set`, over the range of friction                           */
    double across_flats;              /* m                                                                */
} up_tightening;

/* Returns 0, or -1 when the size is not known here, its pitch is none of a screw (0 < P < d/3), or a word is outside its
 * list. A cap leaves room below it: `set` is then the middle between lowest and highest of UP_THREAD_IN_LIST. */
int up_tighten(const up_screw *screw, up_tightening *out);

#endif
