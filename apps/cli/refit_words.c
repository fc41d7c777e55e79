#include "apps/cli/refit_words.h"

#include <math.h>
#include <stddef.h>

/* When a text belongs to a door. */
typedef enum when { ALWAYS, WITH_SPRING } when;

typedef struct text {
    int families;
    when when;
    const char *words;
} text;

static int has_spring(const up_values *door) {
    return fabs(door->balance_bottom) > 0 || fabs(door->balance_top) > 0;
}

static int choose(const text *texts, size_t count, const up_values *door, const char *words[UP_REFIT_WORDS]) {
    int chosen = 0;
    for (size_t i = 0; i < count && chosen < UP_REFIT_WORDS; i++) {
        const int belongs = texts[i].families & 1 << door->family;
        if (belongs && (texts[i].when == ALWAYS || has_spring(door))) {
            words[chosen++] = texts[i].words;
        }
    }
    return chosen;
}

/* ---- cautions ---- */

static const text cautions[] = {
    {UP_ALL, ALWAYS,
     "Airbag: the door may hold one, or its sensor. Battery off, minus first, and wait as long as the maker says "
     "before "
     "any plug in the door is touched. Never put a meter on an airbag's leads."},
    {UP_ALL, ALWAYS,
     "Glass: tempered glass bursts when its edge is knocked. Gloves, eye protection, glass held by cups or tape until "
     "its "
     "clamps are tight."},
    {UP_ALL, WITH_SPRING,
     "Spring under tension: clamp or pin the counterbalance before motor, arm or drum are loose. It lets go with the "
     "force "
     "of the whole glass."},
    {UP_ARMS, ALWAYS,
     "Arms: without its motor nothing holds the sector. Clamp it before the motor comes off and until its screws are "
     "tight."},
    {UP_FOR_CABLE, ALWAYS,
     "Cable: it springs off the drum when the tensioner is free, and frayed strands cut. Gloves; keep it taut."},
    {UP_ALL, ALWAYS,
     "Pinch: no hand, arm or tool in the opening or among arms, teeth and cable while anyone can reach the switch. One "
     "person at the switch, who says so before it moves."},
    {UP_ALL, ALWAYS,
     "Live battery: rings and watch off, a fuse in the bench lead (as large as the window's own), leads off before "
     "anything is touched."},
};

int up_refit_cautions(const up_values *door, const char *words[UP_REFIT_WORDS]) {
    return choose(cautions, sizeof cautions / sizeof cautions[0], door, words);
}

/* ---- order of assembly ---- */

static const text order[] = {
    {UP_ALL, ALWAYS, "Old grease with its grit out of teeth, tracks and channels; new grease as below."},
    {UP_ARMS, ALWAYS,
     "On the bench: motor to the regulator, sector still clamped, teeth meshed without force, screws evenly by turns."},
    {UP_ALL, WITH_SPRING, "Counterbalance spring hooked in at both ends and still pinned."},
    {UP_FOR_CABLE, ALWAYS,
     "On the bench: cable into the drum's grooves as it lay, no turn over another, both nipples home; drum on the "
     "motor; "
     "tensioner freed last."},
    {UP_FOR_RACK, ALWAYS,
     "On the bench: tape or rack into its track, pushed through once by hand from end to end; pinion meshed without "
     "force; "
     "motor screws evenly by turns."},
    {UP_ARMS, ALWAYS,
     "Regulator into the door through the service hole, arms folded; plate screws by finger, then crosswise to their "
     "torque."},
    {UP_CROSSED, ALWAYS,
     "Equaliser roller into the door rail; rail screws only snug, they set how the glass stands and come last."},
    {UP_FOR_CABLE, ALWAYS,
     "Rail into the door, upper and lower screws only snug; carrier at the height of the service hole."},
    {UP_FOR_RACK, ALWAYS,
     "Track into the door, screws only snug, no bend that was not there before; carrier at the service hole."},
    {UP_ALL, ALWAYS, "Glass into both channels from above, down to its carrier or lift rail; held by cups or tape."},
    {UP_ARMS, ALWAYS, "Rollers into the lift rail; lift rail to the glass, clamps snug."},
    {UP_FOR_CABLE | UP_FOR_RACK, ALWAYS, "Glass on its carrier, clamps snug."},
    {UP_ALL, WITH_SPRING,
     "Counterbalance unpinned now, not before: motor tight, glass on its clamps, hands out of the door."},
    {UP_ALL, ALWAYS,
     "Leads clipped clear of everything that moves, over the whole travel. Plugs on, then battery on, minus last."},
    {UP_ALL, ALWAYS,
     "By the switch, held and let go in short steps, to nearly closed: the glass finds its place in the frame. Now "
     "tighten "
     "what was only snug, clamps last."},
    {UP_ALL, ALWAYS, "Meter, initialisation and acceptance below, before the trim goes on."},
    {UP_ALL, ALWAYS,
     "Water-shedding film back, sealed all round: it keeps water out, and in some doors the pressure for the airbag's "
     "sensor in. Trim on."},
};

int up_refit_order(const up_values *door, const char *words[UP_REFIT_WORDS]) {
    return choose(order, sizeof order / sizeof order[0], door, words);
}

/* ---- grease ---- */

static const struct {
    int families;
    up_refit_grease grease;
} greases_known[] = {
    {UP_ALL,
     {"worm and wheel", "steel on plastic", "lithium soap on PAO oil, with PTFE: every tooth gap half full, no more"}},
    {UP_ALL,
     {"rubber damper in the wheel", "rubber, plastic", "nothing, or a film of silicone: mineral oil swells rubber"}},
    {UP_ARMS, {"pinion and sector", "steel on steel", "lithium soap on PAO oil: all teeth, by brush"}},
    {UP_FOR_RACK, {"pinion and rack or tape", "steel on plastic", "lithium soap on PAO oil: thin, all teeth"}},
    {UP_ARMS, {"rollers in their rails", "plastic on steel", "the same: a film along the rail's full length"}},
    {UP_ARMS, {"pivots, crossing bolt", "steel on steel", "the same: a dab between the faces"}},
    {UP_FOR_CABLE,
     {"cable in sleeves and pulleys", "steel in plastic", "light PAO grease, drawn in by moving the cable"}},
    {UP_FOR_CABLE, {"carrier on its rail", "plastic on steel", "lithium soap on PAO oil: a film along the rail"}},
    {UP_FOR_RACK, {"track, carrier", "plastic on steel", "the same: a film along the track"}},
    {UP_ALL, {"limit ring's planets", "plastic", "the same, thin; nothing on the contact ring"}},
    {UP_ALL, {"armature bearings", "sintered bronze", "one drop of oil each, wiped off"}},
    {UP_ALL, {"run channels, seals", "rubber, flock", "dry silicone only; never grease or oil"}},
    {UP_ALL, {"commutator, brushes, contacts", "copper, carbon", "nothing: wipe dry, no grease anywhere near"}},
};

int up_refit_greases(const up_values *door, const up_refit_grease *greases[UP_REFIT_WORDS]) {
    int chosen = 0;
    for (size_t i = 0; i < sizeof greases_known / sizeof greases_known[0] && chosen < UP_REFIT_WORDS; i++) {
        if (greases_known[i].families & 1 << door->family) {
            greases[chosen++] = &greases_known[i].grease;
        }
    }
    return chosen;
}
