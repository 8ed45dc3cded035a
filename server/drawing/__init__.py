"""Drawing: plan in, SVG text out; pure.

Pictures: ``face`` (a plug, cavity by cavity, from either side; ``face_frame`` has the sketch that tells them apart),
``crossing`` (which cavity feeds which, and where wires cross), ``ribbon`` (a run laid out flat; ``ribbon_measures``
sets its dimensions into rows, ``ribbon_end`` shows its last stretch close up), ``joints`` (splices, bridges),
``route_shape`` (the ribbon as it lies along legs and bends; ``route_walk`` follows them, ``route_labels`` finds room)
``harness`` (the whole build) and ``label_sheet`` (a sheet of labels as it lies in the printer).

Off the page: ``standalone`` gives a drawing its own colours, for files and papers (``outlines`` fills what it cannot
stroke); ``stacked`` puts several below one another.

Every drawing is an ``svg.drawing``; ids start with the run number or ``harness``.

Classes, coloured in ``static/css/drawing.css`` from the properties of ``tokens.css``:

- words: ``ink``, ``muted``, ``accent``, ``warn``, ``stop``, ``done``, ``heading``, ``balloon-number``;
- lines: ``line`` with ``thin`` (1 px) or ``heavy`` (1.4 px) and ``muted``, ``hairline``, ``warn`` or ``accent``;
  ``edge`` for outlines of filled shapes; ``outline`` for the ink around a wire; ``halo`` for the gap around a ribbon
  that lies over another; ``open`` for a live cavity that is left open; ``grid`` and ``grid-lines``;
- fills: ``paper``, ``sheet``, ``solid`` (ink), ``balloon``, ``dot`` (end of a leader line);
- crossing: ``ways`` with one ``way`` per wire (the others fade when it is tabbed to), ``meetings``, ``numbers``;
- route shape: ``rim`` (the ribbon's edge), ``plug``, ``wire-line`` (between two wires), coloured in ``path.css``;
- links: ``run``, with ``hit`` as its wide, unseen target, and ``selected`` on the run that is open; ``card-link``, the
  length of a run, with ``pad`` as its target; ``screen-only`` for what paper has no use for;
  ``title-block`` for the block at the bottom right.

Wire colours are presentation attributes and keep their real values in every theme and in print.
"""
