#include "analysis/injury.h"

#include <stddef.h>

#define READ UP_SOURCE_READ

/* Forces are means over people where a deviation is given. Not in the list, as it is no force: with a vertical gap of
 * 4 mm the oblique gap between glass and seal can be 18 mm, and nearly all children's fingers fit (160 children,
 * Unfallchirurg 116(6), 2013, 531-536, read in suppr.wilddata.cn pubmed/22367520). */
static const up_injury rows[] = {
    {36.9, 17.8, "the most that was borne at the end joint of the index finger", "109 adults, mean",
     "Journal of Biomechanics 44(11), 2011, 2158-2161", READ, "read in safetylit.org citation 293809_19"},
    {43.4, 19.9, "the most that was borne at the middle joint of the index finger", "109 adults, mean",
     "Journal of Biomechanics 44(11), 2011, 2158-2161", READ, "read in safetylit.org citation 293809_19"},
    {50.0, UP_ABSENT, "the limit that injury authors ask for where children are about",
     "one infant's finger, five places", "Handchirurgie Mikrochirurgie Plastische Chirurgie 44(1), 2012, 1-4", READ,
     "read in suppr.wilddata.cn pubmed/22382903"},
    {78.4, UP_ABSENT, "bone and joint of an infant's finger start to deform", "one infant's finger, five places, mean",
     "Handchirurgie Mikrochirurgie Plastische Chirurgie 44(1), 2012, 1-4", READ,
     "read in suppr.wilddata.cn pubmed/22382903"},
    {97.2, 51.8, "the most that was borne over the middle joints of four fingers together", "109 adults, mean",
     "Journal of Biomechanics 44(11), 2011, 2158-2161", READ, "read in safetylit.org citation 293809_19"},
    {110.0, UP_ABSENT, "onset of pain at the abdomen", "adults, held at rest", "ISO/TS 15066:2016, table A.2", READ,
     "read in a secondary public source"},
    {140.0, UP_ABSENT, "onset of pain at fingers, hand and chest", "adults, held at rest",
     "ISO/TS 15066:2016, table A.2", READ, "read in a secondary public source"},
    {150.0, UP_ABSENT, "onset of pain at the neck; none is allowed at the head", "adults, held at rest",
     "ISO/TS 15066:2016, table A.2", READ, "read in a secondary public source"},
    {300.0, UP_ABSENT, "marks and cuts in the skin, joints made unstable", "hands of the dead, glass at 10 cm/s",
     "Injury, 2012, doi 10.1016/j.injury.2011.12.013", READ, "read in fitforthem.unipa.it"},
    {500.0, UP_ABSENT, "crushed tissue and broken bones", "hands of the dead, glass at 10 cm/s",
     "Injury, 2012, doi 10.1016/j.injury.2011.12.013", READ, "read in fitforthem.unipa.it"},
};

enum { ROWS = sizeof rows / sizeof rows[0] };

int up_injury_count(void) {
    return ROWS;
}

const up_injury *up_injury_at(int index) {
    return index >= 0 && index < ROWS ? &rows[index] : NULL;
}

int up_injury_reached(double peak_force) {
    int reached = 0;
    while (reached < ROWS && rows[reached].force <= peak_force) {
        reached++;
    }
    return reached;
}

const up_injury *up_injury_advice(double peak_force) {
    return up_injury_at(up_injury_reached(peak_force) - 1);
}
