import {
  GRADIENT_110_Kpkm,
  RADIUS_1976_m,
  TEMPERATURE_110_K,
  TEMPERATURE_120_K,
  TEMPERATURE_86_K,
  TEMPERATURE_EXOSPHERE_K,
} from './us1976-data.ts';

/**
 * The four temperature segments of the standard above 86 km, by their upper ends in geometric km:
 * isothermal to 91, a quarter of an ellipse to 110, linear to 120, exponential to 1000.
 */
export const TEMPERATURE_SEGMENT_TOPS_km: readonly number[] = [91, 110, 120, 1000];

const radius_km = RADIUS_1976_m / 1000;

// The ellipse T = C + A sqrt(1 - ((Z - 91) / a)^2) has slope zero and 186.8673 K at 91 km, 12 K/km and 240 K at
// 110 km. The standard prints C, A and a to four decimals (263.1905 K, -76.3232 K, -19.9429 km), with which the
// segment would end 2.7e-4 K short of 240 K; solved from those conditions (appendix B) it joins exactly.
const spanTimesSlope_K = GRADIENT_110_Kpkm * (110 - 91);
const ellipseCentre_K =
  (spanTimesSlope_K * TEMPERATURE_110_K + TEMPERATURE_86_K ** 2 - TEMPERATURE_110_K ** 2) /
  (spanTimesSlope_K + 2 * (TEMPERATURE_86_K - TEMPERATURE_110_K));
const ellipseAxis_K = TEMPERATURE_86_K - ellipseCentre_K;
const ellipseAxis_km =
  ((110 - 91) * ellipseAxis_K) / -Math.sqrt(ellipseAxis_K ** 2 - (TEMPERATURE_110_K - ellipseCentre_K) ** 2);

const exosphereDecay_pkm = GRADIENT_110_Kpkm / (TEMPERATURE_EXOSPHERE_K - TEMPERATURE_120_K);

/**
 * Kinetic temperature of the U.S. Standard Atmosphere 1976 above 86 km (eqs. 25, 27, 29 and 31).
 *
 * @param height_km geometric height, km; each segment's formula may be used a little outside its bounds, the
 *   ellipse below 110.9 km only.
 * @param segment index into {@link TEMPERATURE_SEGMENT_TOPS_km}.
 * @returns kelvin.
 */
export function upperTemperature_K(height_km: number, segment: number): number {
  if (segment === 0) return TEMPERATURE_86_K;
  if (segment === 1) {
    const x = (height_km - 91) / ellipseAxis_km;
    return ellipseCentre_K + ellipseAxis_K * Math.sqrt(1 - x * x);
  }
  if (segment === 2) return TEMPERATURE_110_K + GRADIENT_110_Kpkm * (height_km - 110);
  const reduced_km = ((height_km - 120) * (radius_km + 120)) / (radius_km + height_km);
  return (
    TEMPERATURE_EXOSPHERE_K -
    (TEMPERATURE_EXOSPHERE_K - TEMPERATURE_120_K) * Math.exp(-exosphereDecay_pkm * reduced_km)
  );
}

/**
 * Vertical gradient of {@link upperTemperature_K} (eqs. 26, 28, 30 and 32), K/km. Same arguments.
 */
export function upperTemperatureGradient_Kpkm(height_km: number, segment: number): number {
  if (segment === 0) return 0;
  if (segment === 1) {
    const x = (height_km - 91) / ellipseAxis_km;
    return (-(ellipseAxis_K / ellipseAxis_km) * x) / Math.sqrt(1 - x * x);
  }
  if (segment === 2) return GRADIENT_110_Kpkm;
  const ratio = (radius_km + 120) / (radius_km + height_km);
  const reduced_km = (height_km - 120) * ratio;
  return GRADIENT_110_Kpkm * ratio * ratio * Math.exp(-exosphereDecay_pkm * reduced_km);
}
