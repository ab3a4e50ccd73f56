/** What the tests use of the package `psychrolib`, which brings no types of its own. */
declare module 'psychrolib' {
  interface Psychrolib {
    readonly SI: number
    SetUnitSystem(units: number): void
    /** °C from °C and relative humidity as 0 to 1; below 0.01 °C this is the frost point. */
    GetTDewPointFromRelHum(airC: number, share: number): number
    /** Pa from °C. */
    GetSatVapPres(airC: number): number
  }
  const psychrolib: Psychrolib
  export default psychrolib
}
