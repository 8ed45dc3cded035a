"""From forms to the values that the services take, one module per panel."""
