// What is to be minded whatever the forecast says.

export const FOOD = "US guidance, whole beef steaks: 145 °F (62.8 °C) and a 3 minute rest. "
  + "Follow your local food code.";

export const CHARCOAL = "Charcoal outdoors only: its carbon monoxide kills unnoticed. Hot metal: gloves.";
