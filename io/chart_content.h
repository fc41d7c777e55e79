/* What the panels of a chart show. */
#ifndef UPSTOP_IO_CHART_CONTENT_H
#define UPSTOP_IO_CHART_CONTENT_H

#include "io/chart.h"
#include "io/chart_panel.h"

/* Draws one panel whose frame (left, top, width, height, and for the first four the axis of time) is set; sets the rest. */
typedef void up_chart_draw(up_panel *panel, const up_chart *chart);

enum { UP_CHART_PANELS = 4 };

/* Opening, current, forces, detector, from top to bottom. */
extern up_chart_draw *const up_chart_panels[UP_CHART_PANELS];

/* The closer look; NULL when none is asked for or the run has nothing to show there. */
up_chart_draw *up_chart_detail_panel(const up_chart *chart);

#endif
