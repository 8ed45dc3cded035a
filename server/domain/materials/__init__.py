"""What fits what: contacts to gauges, sleeve and heat-shrink to wire, combs to ribbons; and how much a run takes."""
